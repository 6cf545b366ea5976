"""Kits and strip scales from TOML files.

A kit:

    [[product]]
    key = "alkalinity_plus"                      # short name, unique in the file
    substances = { sodium_bicarbonate = 0.98 }   # mass fraction of each pure substance
    density = 1.0                                # kg per litre, as poured
    form = "granules"                            # granules, liquid or tablet
    measures = { cap = 60, scoop = 30 }          # level millilitres
    label_max_g_per_1000l = 150                  # most in one dose, by the label
    label_dose_g_per_1000l = 20                  # a dose fixed by volume alone (binders, buffers)
    predissolve = false
    buffer = false                               # a pH buffer: goes in last, jets off
    binder = false                               # a metal binder: goes in before any oxidiser
    phosphate = false
    alkalinity_per_g = 0                         # mg of alkalinity (as CaCO3) that a gram of unlisted salts brings
    price = 1.0                                  # relative cost of a kilogram
    pack_g = 1500                                # grams in one pack; of a liquid millilitres times density

A scale:

    name = "six-way strip"
    [pads]
    ph = [6.2, 6.8, 7.2, 7.8, 8.4]
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from dosing import SUBSTANCES, Kit, Measure, Product, Scale

_Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _ProductRow(_Row):
    key: str = Field(min_length=1)
    substances: dict[str, Annotated[float, Field(gt=0, le=1)]] = {}
    density: _Positive
    form: Literal["granules", "liquid", "tablet"] = "granules"
    measures: dict[str, _Positive] = {}
    label_max_g_per_1000l: _Positive | None = None
    label_dose_g_per_1000l: _Positive | None = None
    predissolve: bool = False
    buffer: bool = False
    binder: bool = False
    phosphate: bool = False
    alkalinity_per_g: Annotated[float, Field(allow_inf_nan=False)] = 0.0
    price: _Positive = 1.0
    pack_g: _Positive | None = None

    def product(self) -> Product:
        unknown = [name for name in self.substances if name not in SUBSTANCES]
        if unknown:
            raise ValueError(f"{unknown[0]!r} is not a known substance; these are: {', '.join(SUBSTANCES)}")
        fields = self.model_dump(exclude={"measures"})
        return Product(**fields, measures=tuple(Measure(name, ml) for name, ml in self.measures.items()))


class _KitFile(_Row):
    product: list[_ProductRow] = Field(min_length=1)


class _ScaleFile(_Row):
    name: str = Field(min_length=1)
    pads: dict[str, tuple[float, ...]] = Field(min_length=1)


_AnyFile = TypeVar("_AnyFile", _KitFile, _ScaleFile)


def read_kit(path: Path) -> Kit:
    """The kit in a TOML file. Raises ValueError with one clear sentence."""
    table = _checked(_KitFile, path)
    try:
        return Kit(tuple(row.product() for row in table.product))
    except ValueError as wrong:
        raise ValueError(f"{path}: {wrong}") from None


def product_of(table: dict[str, object]) -> Product:
    """The product in a `[[product]]` table of a larger file. ValidationError or ValueError where it is none."""
    return _ProductRow.model_validate(table).product()


def scale_of(table: dict[str, object]) -> Scale:
    """The strip scale in a table of a larger file. ValidationError or ValueError where it is none."""
    found = _ScaleFile.model_validate(table)
    return Scale(found.name, found.pads)


def read_scale(path: Path) -> Scale:
    """The strip scale in a TOML file. Raises ValueError with one clear sentence."""
    table = _checked(_ScaleFile, path)
    try:
        return Scale(table.name, table.pads)
    except ValueError as wrong:
        raise ValueError(f"{path}: {wrong}") from None


def _checked(kind: type[_AnyFile], path: Path) -> _AnyFile:
    try:
        return kind.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))
    except OSError:
        raise ValueError(f"{path} cannot be read: give the path of a TOML file") from None
    except ValidationError as wrong:
        first = wrong.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise ValueError(f"{path}: {where}: {first['msg'].lower()}") from None
    except (ValueError, RecursionError) as wrong:
        raise ValueError(f"{path} is not TOML: {why_not_toml(wrong)}") from None


def why_not_toml(wrong: ValueError | RecursionError) -> str:
    """What the reader of TOML stumbled over, also where it is not the reader's own error."""
    match wrong:
        case tomllib.TOMLDecodeError() | UnicodeDecodeError():
            return str(wrong)
        case RecursionError():
            return "it is nested too deeply"
    return "a number in it is too long, or its path holds a character that no path can"
