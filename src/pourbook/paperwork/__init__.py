"""What papers and labels say, drawn from a book: values for `papers` and `labels`, never a page."""
