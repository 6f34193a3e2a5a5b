"""The command line: each verb reads its words, makes one call on the library, shows the answer."""
