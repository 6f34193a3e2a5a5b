"""Plans of a batch: which casks, and how much of each, chosen by a program whose answer is proved."""
