"""The dealer's own settings from a TOML file.

key = "tidewell"                  # short and lasting: every row of the database carries it
name = "Tidewell Tubs"
zone = "America/Chicago"
language = "en"
locale = "default"                # whose limits count
kit = "kit.toml"                  # files of their own, beside this one
strip = "strip.toml"
start_order = ["metal_binder", "cartridge", "balance", "sanitizer", "buffer", "retest"]
open_door = false                 # whether somebody without an invite may come in

[[answers]]                       # what your people answer often, by language
title = "Foam"
text = {en = "Hello {name}, foam mostly comes from soap. {technician}"}

[contacts]
emergency = "911"
[quiet]
start = 20:00:00
[intervals]
test = 7
"""

import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from bot.command.tables import read_kit, read_scale
from bot.model.dealer import Dealer

DEMO = Dealer(key="tidewell", name="Tidewell Tubs")
"""A dealer of our own invention."""


def read_dealer(path: Path | None) -> Dealer:
    """The dealer in a file, or the invented one without a file. ValueError with one clear sentence."""
    if path is None:
        return DEMO
    try:
        table: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError:
        raise ValueError(f"{path} cannot be read; give the path of the dealer's TOML file") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as wrong:
        raise ValueError(f"{path} is not TOML: {wrong}") from None
    if "kit" in table:
        table["kit"] = read_kit(path.parent / str(table["kit"]))
    if "strip" in table:
        table["scale"] = read_scale(path.parent / str(table.pop("strip")))
    try:
        return Dealer.model_validate(table)
    except ValidationError as wrong:
        first = wrong.errors(include_input=False, include_url=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise ValueError(f"{path}: {where}: {first['msg']}") from None
