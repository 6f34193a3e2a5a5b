"""What goes out: tables, lineages and documents for other programs."""
