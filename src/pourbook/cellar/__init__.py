"""The cellar: what instruments and vessels say, and what the angels take."""
