"""How strength, density, volume and mass of spirit depend on each other.

`density` is the formula of OIML R 22, `strength` its inverses, `volumes` turns measurements into a `Liquid` and
back, `mixing` tells what happens when liquids meet. All pure; all raise `OutOfRange` outside the domain of R 22
(fractions of 0 to 1, -20 to 40 °C) and where readings contradict each other. Figures are working figures: the
legal gauge, the label and the duty return follow the local authority and licensed practice.

>>> from pourbook.alcoholometry.volumes import strength_20c
>>> from pourbook.liquid import Liquid
>>> f"{strength_20c(Liquid(1_000_000, 332_996)):.2f} % vol"
'40.00 % vol'
"""
