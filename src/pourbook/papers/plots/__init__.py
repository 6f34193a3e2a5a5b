"""Statistical plots, by matplotlib: values in, SVG or PDF out."""
