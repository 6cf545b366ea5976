"""What understanding hands back: readings as said, doubts, and the markers for a pad beyond its chart."""

from dataclasses import dataclass, field
from typing import Literal

from dosing import Said

DoubtCode = Literal[
    "ambiguous_number",
    "impossible",
    "colour",
    "unit",
    "two_values",
    "which_reading",
    "which_sanitizer",
    "which_gallon",
    "implausible_volume",
]
"""ambiguous_number: "1,234" (`choices`: both); impossible: "pH 74" (`choices`: the likely meaning, if any);
colour: the number beside the block is wanted; unit: a bare number whose unit matters (`choices`: one per unit);
two_values: two different numbers for one reading; which_reading: a number that belongs to nothing named;
which_sanitizer: a sanitizer number without knowing whether chlorine or bromine; which_gallon: US or imperial
(`choices`: litres for each, US first); implausible_volume: no hot tub holds that (`choices`: the litres said)."""

OFF_THE_TOP = Said("above", 0.0, None)
"""The pad is beyond the last block of its chart: the caller puts in the strip's last number."""
OFF_THE_BOTTOM = Said("below", None, 0.0)
"""The pad shows nothing, or less than the first block: the caller puts in the strip's first number."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something to ask about, never to guess: `text` is what the person wrote, `choices` the likely meanings."""

    code: DoubtCode
    key: str | None
    text: str
    choices: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Heard:
    """The readings of a text by key (mg/L, alkalinity and hardness as CaCO3, degC), and what is doubtful."""

    values: dict[str, Said] = field(default_factory=dict)
    doubts: tuple[Doubt, ...] = ()
    method: Literal["strip", "drops", "meter"] | None = None
