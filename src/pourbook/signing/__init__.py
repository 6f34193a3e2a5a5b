"""Signed heads: a site says with a key kept outside its book where its journal stood. Pure but for `key_files`."""
