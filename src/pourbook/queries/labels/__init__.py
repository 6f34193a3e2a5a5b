"""Which labels were printed, which numbers are reserved, and which items a run is for."""
