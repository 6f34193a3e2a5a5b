"""The journal, its rules, and what follows from them."""
