"""Files that went up or came from people, and the pictures among them."""

import struct
from dataclasses import dataclass, field

from tests.botapi.errors import Json, bad_request

LARGEST_DOWNLOAD = 20_000_000
LARGEST_PHOTO = 10 * 1024 * 1024
LARGEST_UPLOAD = 50 * 1024 * 1024


@dataclass(frozen=True)
class StoredFile:
    """A file; `data` may be shorter than `size` where only the size matters."""

    id: str
    kind: str
    name: str
    mime: str
    data: bytes
    size: int
    path: str
    width: int = 0
    height: int = 0

    def json(self) -> Json:
        """The content of its field in a message."""
        shown: Json = {"file_id": self.id, "file_unique_id": self.id[-16:], "file_size": self.size}
        if self.kind == "photo":
            return shown | {"width": self.width, "height": self.height}
        if self.kind in {"document", "audio", "video", "animation"}:
            shown |= {"file_name": self.name, "mime_type": self.mime}
        if self.kind in {"voice", "audio", "video", "animation", "video_note"}:
            shown |= {"duration": 3}
        if self.kind in {"video", "animation", "sticker"}:
            shown |= {"width": 512, "height": 512}
        if self.kind == "video_note":
            shown |= {"length": 240}
        if self.kind == "sticker":
            shown |= {"type": "regular", "is_animated": False, "is_video": False, "emoji": "\N{BATHTUB}"}
        if self.kind == "voice":
            shown |= {"mime_type": "audio/ogg"}
        return shown


@dataclass
class Files:
    """Every file by id and by download path."""

    by_id: dict[str, StoredFile] = field(default_factory=dict)
    by_path: dict[str, StoredFile] = field(default_factory=dict)

    def add(self, kind: str, name: str, data: bytes, mime: str = "", size: int | None = None) -> StoredFile:
        """Store a file; `size` may claim more than `data` holds."""
        number = len(self.by_id) + 1
        width, height = picture_size(data) if kind == "photo" else (0, 0)
        stored = StoredFile(
            id=f"{kind[:2].title()}ACAgIAAxkBAAI{number:08d}{'Zq' * 18}AQAD{number:012d}",
            kind=kind,
            name=name,
            mime=mime or "application/octet-stream",
            data=data,
            size=len(data) if size is None else size,
            path=f"{kind}s/file_{number}.{name.rpartition('.')[2] or 'bin'}",
            width=width,
            height=height,
        )
        self.by_id[stored.id] = self.by_path[stored.path] = stored
        return stored


def picture_size(data: bytes) -> tuple[int, int]:
    """Width and height in pixels of a PNG or JPEG; 400 for anything else."""
    if data.startswith(b"\x89PNG\r\n\x1a\n") and len(data) >= 24:
        width, height = struct.unpack(">II", data[16:24])
        return int(width), int(height)
    if data.startswith(b"\xff\xd8"):
        return _jpeg_size(data)
    raise bad_request("IMAGE_PROCESS_FAILED")


def _jpeg_size(data: bytes) -> tuple[int, int]:
    at = 2
    while at + 9 <= len(data) and data[at] == 0xFF:
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if 0xC0 <= marker <= 0xCF and marker not in {0xC4, 0xC8, 0xCC}:
            height, width = struct.unpack(">HH", data[at + 5 : at + 9])
            return int(width), int(height)
        at += 2 + length
    raise bad_request("IMAGE_PROCESS_FAILED")
