"""Plans of a batch from a book: the casks that qualify, what is asked, and how far apart batches are."""
