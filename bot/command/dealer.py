"""The dealer's own settings from one TOML file; deploy/dealer.example.toml has every setting with what it means.

Products and strip stand in the file itself (`[[product]]`, `[strip]`), or in files of their own beside it
(`kit = "kit.toml"`, `strip = "strip.toml"`), whose form bot/command/tables.py describes.
"""

import difflib
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from bot.command.tables import product_of, read_kit, read_scale, scale_of, why_not_toml
from bot.command.toml_lines import Where, line_of, lines_of
from bot.model.dealer import Dealer
from bot.talk.words import languages
from dosing import LOCALES, Kit

DEMO = Dealer(key="tidewell", name="Tidewell Tubs")
"""A dealer of our own invention."""


class BadHouse(ValueError):
    """A dealer's file that can't be used. Each fault is one sentence: the line, what is wrong, what would be right."""

    def __init__(self, path: Path, faults: list[str]) -> None:
        more = f" (and {len(faults) - 1} more; `brimful house check` shows all)" if len(faults) > 1 else ""
        super().__init__(f"{path}: {faults[0]}{more}")
        self.faults = faults


def read_dealers(path: Path | None) -> list[tuple[Path | None, Dealer]]:
    """The dealer in a file, those in the files of a folder, or the invented one, each with its file.

    ValueError with one clear sentence.
    """
    if path is None or not path.is_dir():
        return [(path, read_dealer(path))]
    dealers: list[tuple[Path | None, Dealer]] = [(file, read_dealer(file)) for file in sorted(path.glob("*.toml"))]
    if not dealers:
        raise ValueError(f"{path} holds no TOML file; put a dealer's there, or give the path of one")
    for key, times in Counter(dealer.key for _, dealer in dealers).items():
        if times > 1:
            raise ValueError(f"{path}: {times} files have the key {key!r}; give each dealer one of its own")
    return dealers


def read_dealer(path: Path | None) -> Dealer:
    """The dealer in a file, or the invented one without a file. ValueError with one clear sentence."""
    if path is None:
        return DEMO
    if path.is_dir():
        raise ValueError(f"{path} is a folder of dealers; set BRIMFUL_DEALER to the file of the one that is meant")
    try:
        text = path.read_text(encoding="utf-8-sig")
        table: dict[str, Any] = tomllib.loads(text)
    except OSError:
        raise ValueError(f"{path} cannot be read; give the path of the dealer's TOML file") from None
    except (ValueError, RecursionError) as wrong:
        raise BadHouse(path, [f"this is not TOML: {why_not_toml(wrong)}"]) from None
    return _Reading(path, table, lines_of(text)).dealer()


def files_of(path: Path) -> list[Path]:
    """The file and those it names: whatever of them changes, the settings may have changed."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return [path]
    named = (table.get(name) for name in ("kit", "strip"))
    return [path, *(path.parent / name for name in named if isinstance(name, str))]


class _Reading:
    def __init__(self, path: Path, table: dict[str, Any], lines: Mapping[Where, int]) -> None:
        self.path = path
        self.table = table
        self.lines = dict(lines)
        self.faults: list[tuple[int, str]] = []

    def dealer(self) -> Dealer:
        table = {**self.table, "models": self.table.get("model", [])}
        table.pop("model", None)
        self._products(table)
        self._strip(table)
        self._names(table)
        dealer = None
        try:
            dealer = Dealer.model_validate(table)
        except ValidationError as wrong:
            self._refused(wrong, ())
        if dealer is None or self.faults:
            raise BadHouse(self.path, [said for _, said in sorted(self.faults)])
        return dealer

    def _products(self, table: dict[str, Any]) -> None:
        rows, named = table.pop("product", None), table.pop("kit", None)
        if rows is not None and named is not None:
            self._fault(("kit",), "products stand both here and in a file; leave one of them out")
        elif rows is not None:
            self._own_products(table, rows if isinstance(rows, list) else [rows])
        elif named is not None:
            self._part(table, "kit", lambda: read_kit(self.path.parent / str(named)), ("kit",))

    def _own_products(self, table: dict[str, Any], rows: list[Any]) -> None:
        made: dict[str, Any] = {}
        for place, row in enumerate(rows):
            self._part(made, str(place), lambda row=row: product_of(row), ("product", place))
        if len(made) == len(rows):
            self._part(table, "kit", lambda: Kit(tuple(made.values())), ("product", 0))

    def _strip(self, table: dict[str, Any]) -> None:
        said = table.pop("strip", None)
        if isinstance(said, dict):
            self._part(table, "scale", lambda: scale_of(said), ("strip",))
        elif said is not None:
            self._part(table, "scale", lambda: read_scale(self.path.parent / str(said)), ("strip",))

    def _part(self, table: dict[str, Any], name: str, make: Any, where: Where) -> None:  # noqa: ANN401 - a kit or a scale
        try:
            table[name] = make()
        except ValidationError as wrong:
            self._refused(wrong, where)
        except ValueError as wrong:
            self._fault(where, str(wrong))

    def _names(self, table: Mapping[str, Any]) -> None:
        """What has to be one of a list that the model does not know."""
        for name, there in (("language", languages()), ("locale", tuple(LOCALES))):
            if isinstance(table.get(name), str) and table[name] not in there:
                self._fault((name,), f"{name} is {table[name]!r}; it is one of {', '.join(there)}")

    def _refused(self, wrong: ValidationError, within: Where) -> None:
        for error in wrong.errors(include_url=False):
            where = (*within, *error["loc"])
            shown = ("model", *where[1:]) if where[:1] == ("models",) else where
            self._fault(shown, _sentence(error, shown))

    def _fault(self, where: Where, said: str) -> None:
        number = line_of(self.lines, where)
        self.faults.append((number or 0, f"line {number}: {said}" if number else said))


def _sentence(error: Any, where: Where) -> str:  # noqa: ANN401 - pydantic's own kind of mapping
    name = ".".join(str(part + 1) if isinstance(part, int) else part for part in where)
    message = str(error["msg"]).removeprefix("Value error, ").removeprefix("Assertion failed, ")
    match error["type"]:
        case "extra_forbidden":
            return f"{name} is no setting; {_near(where)}"
        case "missing":
            return f"{name} is missing; it has to be given"
        case "value_error":
            return f"{name}: {message}"
    expected = message.replace("Input should", "it should", 1)
    given = error["input"]
    return f"{name} is {_shown(given)}; {expected}" if isinstance(given, str | int | float) else f"{name}: {expected}"


def _shown(given: str | float) -> str:
    """A value as it stands in the file, as far as a sentence can hold it."""
    if isinstance(given, int) and given.bit_length() > 100:
        return "a very large number"
    whole = repr(given)
    return whole if len(whole) <= 80 else f"{whole[:80]}…"


def _near(where: Where) -> str:
    """What was probably meant by a name that is no setting."""
    there = list(_settings(where[:-1]))
    close = difflib.get_close_matches(str(where[-1]), there, n=1)
    return f"did you mean {close[0]}?" if close else f"here may stand {', '.join(there)}"


def _settings(within: Where) -> Iterable[str]:
    model: Any = Dealer
    for part in within:
        if isinstance(part, int):
            continue
        name = "models" if part == "model" else part
        field = model.model_fields.get(name) if isinstance(model, type) and issubclass(model, BaseModel) else None
        kind = field.annotation if field else None
        inner = getattr(kind, "__args__", (kind,))
        model = next((one for one in inner if isinstance(one, type) and issubclass(one, BaseModel)), None)
    if model is None:
        return ()
    ours = {"models": "model", "scale": "strip"}
    own = (ours.get(name, name) for name in model.model_fields)
    return (*own, "product") if model is Dealer else tuple(own)
