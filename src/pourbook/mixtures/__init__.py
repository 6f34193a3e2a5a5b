"""Compositions as statistics: regions within bounds, designs, models of blends. Values in, values out."""
