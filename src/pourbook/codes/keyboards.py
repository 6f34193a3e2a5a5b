"""Text that a scanner typed as if the keyboard were another one.

Many scanners act as an American keyboard. On a computer with another layout, other characters arrive: on a
German one Y and Z are swapped and a hyphen becomes ß. A character that no code can hold makes the layout
certain, and with it the keys pressed; without one the person must be asked.

>>> list(retyped("httpsÖ--id.gs1.org-01-09521234005674-10-ZEß1"))
[('German keyboard layout', 'https://id.gs1.org/01/09521234005674/10/YE-1')]
>>> list(retyped('Cààà&é"Y'))
[('French keyboard layout', 'C000123Y')]
>>> list(retyped("C000123Y"))
[]
>>> swapped("C000123Z")
('C000123Y', 'C000123W')
"""

from collections.abc import Iterator

__all__ = ["retyped", "swapped"]

# Pairs of what arrives and the American key that was pressed: the layouts de and fr of the X keyboard
# configuration 2.35.1, compared key by key; keys that wait for a second one are taken to arrive by themselves.
_GERMAN = "yz zy YZ ZY ß- ?_ ü[ Ü{ +] *} ö; Ö: ä' Ä\" #\\ '| -/ _? ;< :> \"@ §# &^ /& (* )( =) ´= `+ °~"
_FRENCH = (
    "aq qa zw wz AQ QA ZW WZ &1 é2 \"3 '4 (5 -6 è7 _8 ç9 à0 )- 1! 2@ 3# 4$ 5% 6^ 7& 8* 9( 0) °_"
    " m; M: ù' %\" ,m ?M ;, :. !/ .< /> §? $] ^[ £} µ| *\\"
)


def _table(pairs: str) -> dict[int, str]:
    return {ord(pair[0]): pair[1] for pair in pairs.split()}


_LAYOUTS = (
    ("German keyboard layout", frozenset("ßöüäÖÜÄ§"), _table(_GERMAN)),
    ("French keyboard layout", frozenset("àéèçù§°"), _table(_FRENCH)),
)
"""Each layout: its name, characters that give it away, and the key behind each of its own."""

_SWAPS = (str.maketrans("YZyz", "ZYzy"), str.maketrans("AQWZaqwz", "QAZWqazw"))


def retyped(text: str) -> Iterator[tuple[str, str]]:
    """Each layout that gives itself away in a text, and the text as the scanner meant it."""
    for name, evidence, meant in _LAYOUTS:
        if not evidence.isdisjoint(text):
            yield name, text.translate(meant)


def swapped(text: str) -> tuple[str, ...]:
    """The text as other layouts would have it, where only letters differ."""
    return tuple(other for swap in _SWAPS if (other := text.translate(swap)) != text)
