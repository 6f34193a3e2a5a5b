"""What labels were printed, what numbers are set aside, and which items a run is for."""
