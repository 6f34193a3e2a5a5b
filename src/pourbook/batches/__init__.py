"""From the bench to the vat and into bottles: scaling up, dumping, bottling."""
