"""What the paper of an account says: plain frozen values that know no book.

Quantities are litres at 20 °C, above zero on every side but adjustment and contraction. What was
declared is text, as it was declared; empty where nothing was.

>>> line = AccountLine("loss", "leak", 1, Fraction(3, 4), Fraction(5, 4), "0.8", "1.3")
>>> line.difference_lpa_l
Fraction(1, 20)
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from pourbook.papers.dossier.dossier_rows import Named
from pourbook.papers.page import Imprint

__all__ = ["Account", "AccountCorrection", "AccountGroup", "AccountLine", "AccountSample"]


class AccountLine(NamedTuple):
    """A line of an account.

    Attributes:
        side: opening, adjustment, in, gain, out, loss, contraction or closing.
        heading: on that side; may be empty.
        postings: of how many movements, or items held.
        lpa_l: litres of pure alcohol.
        bulk_l: bulk litres.
        declared_lpa_l: litres of pure alcohol as declared.
        declared_bulk_l: bulk litres as declared.
    """

    side: str
    heading: str
    postings: int
    lpa_l: Fraction
    bulk_l: Fraction
    declared_lpa_l: str = ""
    declared_bulk_l: str = ""

    @property
    def difference_lpa_l(self) -> Fraction | None:
        """Declared less exact."""
        return Fraction(self.declared_lpa_l) - self.lpa_l if self.declared_lpa_l else None

    @property
    def difference_bulk_l(self) -> Fraction | None:
        """Declared less exact."""
        return Fraction(self.declared_bulk_l) - self.bulk_l if self.declared_bulk_l else None


class AccountGroup(NamedTuple):
    """The account of one group.

    Attributes:
        name: of the group; empty for all together.
        lines: in their order.
    """

    name: str
    lines: tuple[AccountLine, ...]


_NOTHING = AccountGroup("", ())


class AccountCorrection(NamedTuple):
    """A correction of what happened in a closed period.

    Attributes:
        entry: the entry corrected.
        happened: when that was said to have happened.
        what: pour, gauge …, and how it was corrected.
        by: number of the entry that corrected it.
        reason: of the correction.
        who: corrected it.
    """

    entry: int
    happened: str
    what: str
    by: int
    reason: str
    who: str


class AccountSample(NamedTuple):
    """A movement of a sample, or a destruction.

    Attributes:
        when: it happened.
        entry: number of the entry.
        what: became of it.
        source: what it left.
        target: what it went into.
        lpa_l: litres of pure alcohol.
        bulk_l: bulk litres.
        recipient: who got it.
        purpose: what for, or why.
        document: its document.
        witness: who saw it destroyed.
        who: recorded it.
    """

    when: str
    entry: int
    what: str
    source: Named
    target: Named
    lpa_l: Fraction
    bulk_l: Fraction
    recipient: str
    purpose: str
    document: str
    witness: str
    who: str


@dataclass(frozen=True, slots=True)
class Account:
    """All that the paper of an account says.

    Attributes:
        imprint: where and when it is printed.
        period: first and last day, as an interval of ISO 8601.
        code: the same without hyphens, as it is scanned.
        begins: the first moment of the period.
        ends: the moment before which it ends.
        by: the groupings, in words; empty for the house as a whole.
        status: whether the period is closed, and by which entry.
        declared: what was declared and by which rule; empty where nothing was.
        notice: what the account is not.
        warnings: what makes it provisional.
        groups: the account of each group; one for the house as a whole.
        total: all groups together.
        adjusting: corrections of earlier periods that take effect in this one.
        corrected_since: corrections that this closed period does not show.
        samples: movements of samples, and destructions, in order of time.
    """

    imprint: Imprint
    period: str
    code: str
    begins: str
    ends: str
    by: str
    status: str
    declared: str
    notice: str
    warnings: tuple[str, ...] = ()
    groups: tuple[AccountGroup, ...] = ()
    total: AccountGroup = _NOTHING
    adjusting: tuple[AccountCorrection, ...] = ()
    corrected_since: tuple[AccountCorrection, ...] = ()
    samples: tuple[AccountSample, ...] = ()
