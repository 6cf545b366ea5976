"""Files that somebody sends in a rehearsal, by the names that the script gives them."""

import mimetypes
from pathlib import Path, PurePath

from bot.model.event import File, FileKind


def attached(name: str) -> File:
    """A file of that name; its size where there is one here."""
    return File(what=_kind(name), reference=name, name=PurePath(name).name, size=_size(name))


def _kind(name: str) -> FileKind:
    """What kind of file a name promises."""
    if name in ("location", "contact", "sticker"):
        return name  # type: ignore[return-value]
    guessed = mimetypes.guess_type(name)[0] or ""
    if PurePath(name).suffix in (".webp", ".tgs"):
        return "sticker"
    if PurePath(name).suffix in (".ogg", ".oga"):
        return "voice"
    kinds: dict[str, FileKind] = {"image": "photo", "audio": "audio", "video": "video"}
    return kinds.get(guessed.partition("/")[0], "document")


def _size(name: str) -> int | None:
    """How large a file is; None if there is none of that name here."""
    path = Path(name)
    return path.stat().st_size if path.is_file() else None
