"""What is asked of a book. Nothing here records, prints or writes a file."""
