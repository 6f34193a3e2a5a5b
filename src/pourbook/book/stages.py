"""The stages at which a glass is followed; apart, since whoever reads a tasting note needs no more of the entries."""

__all__ = ["STAGES"]

STAGES = ("nose", "first", "middle", "finish")
"""How a glass is followed: its nose, the first taste, the middle, and what stays after it was swallowed or spat."""
