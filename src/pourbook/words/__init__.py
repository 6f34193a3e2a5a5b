"""Facts in words and figures in digits, once for every screen and every paper."""
