"""Files of rows: CSV and XLSX into text, text into values, every fault listed."""
