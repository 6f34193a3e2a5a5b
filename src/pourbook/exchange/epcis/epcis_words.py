"""Words of EPCIS 2.0 and its Core Business Vocabulary, and units of UN/CEFACT Recommendation 20.

EPCIS 2.0 is ISO/IEC 19987:2024, the vocabulary ISO/IEC 19988:2024 (catalogue entries read). What either has
no word for stands in a namespace of our own, which is a name only: nothing can be fetched there.

>>> own("wood_days"), quantity_of(182_400_000), quantity_of(250)
('pourbook:wood_days', (182.4, 'KGM'), (0.25, 'GRM'))
"""

from decimal import Decimal

__all__ = [
    "ACTIONS", "BIZ_STEPS", "BROUGHT", "CONTEXT", "COUNTS", "DISPOSITIONS", "FIELDS", "MASS_MG", "NAMESPACE", "PREFIX",
    "VOLUME_ML", "own", "quantity_of",
]  # fmt: skip

PREFIX, NAMESPACE = "pourbook", "https://pourbook.example/epcis/"
CONTEXT: list[str | dict[str, str]] = [
    "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld",
    {PREFIX: NAMESPACE},
]
"""The JSON-LD context of every document made here."""

BROUGHT = ("previous", "allergens")
"""Words of our own for what a vessel brings into all that was ever in it."""

ACTIONS = ("ADD", "OBSERVE", "DELETE")
_OF_ALL = (
    "@context type eventTime recordTime eventTimeZoneOffset eventID certificationInfo errorDeclaration bizStep"
    " disposition readPoint bizLocation bizTransactionList sourceList destinationList"
    " sensorElementList"
)
_SIDES = "inputEPCList inputQuantityList outputEPCList outputQuantityList"
FIELDS = {
    kind: frozenset(f"{_OF_ALL} {more}".split())
    for kind, more in (
        ("ObjectEvent", "action epcList quantityList ilmd persistentDisposition"),
        ("AggregationEvent", "action parentID childEPCs childQuantityList"),
        ("TransactionEvent", "action parentID epcList quantityList"),
        ("TransformationEvent", f"transformationID {_SIDES} ilmd persistentDisposition"),
        ("AssociationEvent", "action parentID childEPCs childQuantityList"),
    )
}
"""Kind of event to the fields it may have; what else it carries has a prefix."""

BIZ_STEPS = frozenset(
    """accepting arriving assembling collecting commissioning consigning creating_class_instance cycle_counting
    decommissioning departing destroying disassembling dispensing encoding entering_exiting holding inspecting
    installing killing loading other packing picking receiving removing repackaging repairing replacing reserving
    retail_selling sampling sensor_reporting shipping staging_outbound stock_taking stocking storing transporting
    unloading unpacking void_shipping""".split()  # noqa: SIM905 (a list of words reads better as words)
)
DISPOSITIONS = frozenset(
    """active available completeness_inferred completeness_verified conformant container_closed container_open damaged
    destroyed dispensed disposed encoded expired in_progress in_transit inactive mismatch_class mismatch_instance
    mismatch_quantity needs_replacement no_pedigree_match non_conformant non_sellable_other partially_dispensed
    recalled reserved retail_sold returned sellable_accessible sellable_not_accessible stolen unavailable
    unknown""".split()  # noqa: SIM905
)

MASS_MG = {"MGM": Decimal(1), "GRM": Decimal(1000), "KGM": Decimal(10**6), "TNE": Decimal(10**9)}
"""Rec 20 code of a unit of mass to milligrams."""
VOLUME_ML = {"MLT": Decimal(1), "CLT": Decimal(10), "LTR": Decimal(1000), "HLT": Decimal(100_000)}
"""Rec 20 code of a unit of volume to millilitres."""
COUNTS = ("C62", "EA", "H87")
"""Codes of one, each, piece: what others write for counted things, where EPCIS wants no unit."""


def own(name: str) -> str:
    """A word of our own as events write it."""
    return f"{PREFIX}:{name}"


def quantity_of(mass_mg: int) -> tuple[float, str]:
    """A mass as events write it: the number, which reads back to the milligram, and its unit."""
    return (mass_mg / 10**6, "KGM") if mass_mg >= 10**6 else (mass_mg / 1000, "GRM")
