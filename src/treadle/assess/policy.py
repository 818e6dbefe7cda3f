"""What the shop adds to the law: tighter limits of its own, near bands, ageing, and limits it has confirmed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from treadle.measure import Quantity, read_quantity
from treadle.rules.model import Rule

_NEAR_NAMES = {"applied_stroke": "stroke", "lining": "lining", "drum_diameter": "drum"}
NEAR = {
    # Engineering choices, for the shop to set: an eighth of stroke, a sixteenth of lining, 20 thousandths of drum.
    "stroke": read_quantity("1/8 in", "length", where="near.stroke"),
    "lining": read_quantity("1/16 in", "length", where="near.lining"),
    "drum": read_quantity("0.020 in", "length", where="near.drum"),
}


@dataclass(frozen=True, slots=True, eq=False)
class Policy:
    """What the shop says beside the law; without arguments, law only.

    `age_days` is the age past which a reading is no longer seen; `unseen_blocks` says for each occasion whether what
    is unseen keeps a unit in; `confirmed` holds the ids of rules whose official text someone of the shop has read.
    """

    near: Mapping[str, Quantity] = field(default_factory=lambda: NEAR)
    age_days: int | None = None
    age_miles: int | None = None
    unseen_blocks: Mapping[str, bool] | None = None
    rules: tuple[Rule, ...] = ()
    confirmed: frozenset[str] = frozenset()

    def near_band(self, kind: str) -> Quantity | None:
        """Return the band before a limit on a kind of reading; None where there is none."""
        name = _NEAR_NAMES.get(kind)
        return None if name is None else self.near.get(name)


LAW_ONLY = Policy()
