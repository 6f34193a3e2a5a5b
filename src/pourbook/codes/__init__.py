"""Codes: our own identifiers, whatever a scanner sends, and the GS1 keys that leave the house."""
