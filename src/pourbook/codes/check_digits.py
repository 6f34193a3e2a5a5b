"""Check digits and check characters of GS1 keys.

>>> check_digit("629104150021")  # the worked example of GS1's check digit calculator
'3'
>>> check_pair("1987654Ad4X4bL5ttr2310c")  # the example of the Global Model Number
'2K'
"""

__all__ = ["check_digit", "check_pair"]

_SET_82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
_SET_32 = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83)


def check_digit(digits: str) -> str:
    """The check digit of a GTIN, SSCC or GLN without it.

    Source: GS1 General Specifications, check digit: from the right, weights 3 and 1 in turn; the sum with the
    check digit is a multiple of 10. It misses only swaps of neighbours that differ by 5.
    """
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return str(-total % 10)


def check_pair(text: str) -> str:
    """The two check characters of a Global Model Number without them.

    Source: GS1 General Specifications, check character pair: values in set 82, weighted from the
    right with the primes from 2, summed modulo 1021, written in set 32.
    """
    total = sum(_SET_82.index(character) * prime for character, prime in zip(reversed(text), _PRIMES, strict=False))
    return _SET_32[total % 1021 // 32] + _SET_32[total % 1021 % 32]
