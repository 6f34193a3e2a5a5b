"""The account of a period: what was held, what came and went, what was declared."""
