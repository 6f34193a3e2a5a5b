"""What a blender asks of casks: the history of one, and which ones have the history wanted."""
