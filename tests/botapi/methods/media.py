"""Sending files: uploads, files known by id, albums."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from tests.botapi.errors import Json, Refusal, bad_request
from tests.botapi.files import LARGEST_PHOTO, LARGEST_UPLOAD, StoredFile
from tests.botapi.methods.compose import caption_content, send, target
from tests.botapi.methods.registry import method
from tests.botapi.params import Params

if TYPE_CHECKING:
    from tests.botapi.api import BotApi

SINGLE = {
    "sendPhoto": "photo",
    "sendDocument": "document",
    "sendVideo": "video",
    "sendVoice": "voice",
    "sendAudio": "audio",
    "sendAnimation": "animation",
    "sendSticker": "sticker",
    "sendVideoNote": "video_note",
}
WITHOUT_CAPTION = {"sticker", "video_note"}
ALBUM = {"photo", "video", "document", "audio"}
LONGEST_SIDES = 10_000
FLATTEST = 20


def _send_file(api: BotApi, params: Params, name: str, kind: str) -> Json:
    chat = target(api, params)
    stored = _file(api, params, kind, params.values.get(kind) or f"attach://{kind}")
    caption = {} if kind in WITHOUT_CAPTION else caption_content(params)
    return send(api, chat, params, name, _content(kind, stored) | caption)


for _name, _kind in SINGLE.items():
    method(_name, counts=True)(partial(_send_file, name=_name, kind=_kind))


@method("sendMediaGroup", counts=True)
def send_media_group(api: BotApi, params: Params) -> list[Json]:
    """Two to ten files that belong together; documents and audio only among themselves."""
    chat = target(api, params)
    items = params.tree("media")
    if not isinstance(items, list) or not 2 <= len(items) <= 10:
        raise bad_request("invalid number of media in the album: 2 to 10 are expected")
    kinds = {str(item.get("type")) for item in items}
    if not kinds <= ALBUM or (len(kinds) > 1 and not kinds <= {"photo", "video"}):
        raise bad_request("media of these types can't be sent together")
    if params.tree("reply_markup") is not None:
        raise bad_request("an album can't have a keyboard")
    contents = [_album_item(api, params, item) for item in items]
    album = str(13_900_000_000_000_000 + len(api.ledger.sent))
    return [send(api, chat, params, "sendMediaGroup", content | {"media_group_id": album}) for content in contents]


def _album_item(api: BotApi, params: Params, item: Json) -> Json:
    kind = item["type"]
    stored = _file(api, params, kind, item.get("media"))
    return _content(kind, stored) | caption_content(Params(item))


def _content(kind: str, stored: StoredFile) -> Json:
    if kind == "photo":
        return {"photo": [stored.json()]}
    return {kind: stored.json()} | ({"document": stored.json()} if kind == "animation" else {})


def _file(api: BotApi, params: Params, kind: str, given: Any) -> StoredFile:
    """An upload (`attach://field`) or a known file of the same kind; nothing is fetched from elsewhere."""
    given = str(given or "")
    if not given.startswith("attach://"):
        known = api.files.by_id.get(given)
        if known is None:
            raise bad_request("wrong file identifier/HTTP URL specified")
        if known.kind != kind:
            raise bad_request(f"can't use file of type {known.kind.title()} as {kind.title()}")
        return known
    upload = params.files.get(given.removeprefix("attach://"))
    if upload is None:
        raise bad_request(f"there is no {kind} in the request")
    if not upload.data:
        raise bad_request("file must be non-empty")
    if len(upload.data) > LARGEST_UPLOAD:
        raise Refusal(413, "Request Entity Too Large")
    if kind == "photo" and len(upload.data) > LARGEST_PHOTO:
        raise bad_request("file is too big")
    stored = api.files.add(kind, upload.name, upload.data, upload.mime)
    if kind == "photo":
        _check_photo(stored)
    return stored


def _check_photo(photo: StoredFile) -> None:
    short, long = sorted((photo.width, photo.height))
    if short == 0 or short + long > LONGEST_SIDES or long > FLATTEST * short:
        raise bad_request("PHOTO_INVALID_DIMENSIONS")
