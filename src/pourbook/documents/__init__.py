"""Answers as JSON documents and as words, once for every door."""
