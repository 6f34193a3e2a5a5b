"""What a task has in hand survives a restart of the station: read again from JSON it is equal, types and all."""

import json
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.actions.line_scanned import InHand, SamePour
from pourbook.bench.beside_plan import Rest, Target
from pourbook.errors import Malformed
from pourbook.liquid import Liquid
from pourbook.quantities import Amount
from pourbook.station.in_hand import as_json, from_json

texts = st.text(max_size=20)
decimals = st.decimals(allow_nan=False)
fractions = st.fractions()
floats = st.floats(allow_nan=False)
amounts = st.builds(Amount, texts, decimals, st.sampled_from(["ml", "g air"]), st.sampled_from(["volume", "air"]))
liquids = st.builds(Liquid, st.integers(0, 10**9), st.integers(0, 10**9))
targets = st.builds(Target, texts, floats, floats, st.none() | st.tuples(floats, floats), planned=liquids)
hands = st.builds(
    InHand, st.integers(0), texts, texts, st.none() | st.builds(SamePour, texts, amounts, texts), texts, texts,
    gauged=st.dictionaries(st.integers(0), st.lists(st.integers(0)).map(tuple)),
    balance_g=st.none() | decimals, refused=st.integers(0),
)  # fmt: skip
rests = st.builds(Rest, st.sampled_from(["plan", "total"]), st.dictionaries(texts, floats), liquids)
nested = st.recursive(
    st.none() | st.booleans() | st.integers() | texts | floats | decimals | fractions,
    lambda inner: st.lists(inner) | st.lists(inner).map(tuple) | st.dictionaries(texts | st.integers(), inner),
    max_leaves=12,
)


def types_in(value):
    """The value with the type of everything in it: equal numbers of two types are told apart."""
    if isinstance(value, dict):
        return dict, [(types_in(key), types_in(one)) for key, one in value.items()]
    if isinstance(value, (list, tuple)):
        return type(value), [types_in(one) for one in value]
    return type(value), str(value)


@given(hands | rests | targets | nested)
def test_what_is_kept_is_read_again_equal_and_of_the_same_types(value):
    again = from_json(json.loads(json.dumps(as_json(value), allow_nan=False)))
    assert types_in(again) == types_in(value)


def test_a_view_of_a_mapping_is_read_again_as_a_mapping():
    assert from_json(as_json(MappingProxyType({1: Fraction(1, 3)}))) == {1: Fraction(1, 3)}


@pytest.mark.parametrize(
    "kept",
    [
        {"type": "os:system", "fields": {"command": "true"}},
        {"type": "pourbook.errors:Malformed", "fields": {"message": "no value"}},
        {"type": "pourbook.actions.line_scanned:InHand", "fields": {"unheard": 1}},
        {"type": "pourbook.actions.line_scanned:Gone", "fields": {}},
        {"decimal": "seven"},
        {"fraction": "1/0"},
        {"set": []},
        {},
        [1],
    ],
)
def test_what_another_version_kept_is_refused(kept):
    """Nothing outside the package is ever made, whatever the file beside the book holds."""
    with pytest.raises(Malformed, match="cannot be read any more"):
        from_json(kept)


def test_what_is_no_value_is_not_kept():
    with pytest.raises(TypeError, match="cannot keep object"):
        as_json({"book": object(), "grams": Decimal(1)})
