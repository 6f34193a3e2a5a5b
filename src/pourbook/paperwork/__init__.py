"""What papers and labels say, made out from a book: values for `papers` and `labels`, never a page."""
