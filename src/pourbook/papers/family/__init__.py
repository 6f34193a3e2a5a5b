"""The sheet of a family of trials: its tree with what each was made of and what was thought of it, and all notes."""
