"""What is asked of the warehouse: the order of a walk, what lies in the way, what a stocktake found."""
