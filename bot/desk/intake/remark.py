"""What is to be said about one row: where, what is wrong, and what would be right."""

from dataclasses import dataclass, field
from typing import Literal

Weight = Literal["note", "review", "reject"]
"""note: good to know; review: brought in, but somebody should look; reject: not brought in."""

WEIGHTS: dict[str, Weight] = {
    "phone_second": "note",
    "model_year": "note",
    "kept_owner_s": "note",
    "double": "note",
    "row_wide": "note",
    "nobody": "reject",
    "serial_elsewhere": "reject",
    "erased": "reject",
}
"""What is not named here is for review."""


@dataclass(frozen=True, slots=True)
class Remark:
    """`code` names the sentence, with what stands in the cell and what it could be as `values`."""

    line: int
    column: str
    """The column's title, or its letter where it has none; empty for the whole row."""
    code: str
    values: dict[str, str | float] = field(default_factory=dict)

    @property
    def weight(self) -> Weight:
        """How much it matters."""
        return WEIGHTS.get(self.code, "review")
