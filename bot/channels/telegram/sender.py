"""Sending one message, in as many parts as it takes; a file goes by its number or as bytes, with the last part."""

from collections import OrderedDict
from collections.abc import Awaitable, Callable, Mapping

import telegram
from telegram import Bot, InlineKeyboardMarkup, InputFile, LinkPreviewOptions
from telegram.constants import ParseMode
from telegram.error import BadRequest, TelegramError

from bot.channels.telegram.parts import LONGEST, escaped, keyboard, split
from bot.channels.telegram.refusals import refusal_of
from bot.channels.telegram.topics import Spot, Topics
from bot.model.enclosure import Made
from bot.model.event import File, FileKind
from bot.model.message import Delivered, Parcel, Refusal

HALF_SENT = 1000
"""Of how many messages that left in part it is remembered how far they got."""
OTHER_SPOTS = 2
"""How often a message may find its topic closed or gone."""
CAPTION = 1024
"""Most UTF-16 units of the words under a file (the service's published limit)."""
AS: Mapping[FileKind, tuple[str, ...]] = {
    "photo": ("photo",),
    "voice": ("voice",),
    "audio": ("audio",),
    "video": ("video", "animation", "video_note"),
    "document": ("document",),
    "sticker": ("sticker",),
}
"""What the service may call a file of ours; it takes a number only under the right one."""
CANNOT_BE_EDITED = (
    "message to edit not found",
    "message can't be edited",
    "message_id_invalid",
    "no text in the message",
)
"""Why a message can't be changed in place any more: a new one is sent."""
WORDLESS = ("video_note", "sticker")


class Sender:
    """Sends through one bot."""

    def __init__(self, bot: Bot) -> None:
        self._bot = bot
        self._topics = Topics(bot)
        self._half_sent: OrderedDict[int, tuple[list[str], int]] = OrderedDict()

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        """Send one message; one that left in part goes on where it stopped, unless its text has changed meanwhile."""
        try:
            chat_id = int(parcel.address.chat)
        except ValueError:
            return Refusal(kind="bad", why="the address is no chat of this channel")
        if not parcel.message.text.strip():
            return Refusal(kind="bad", why="the message has no text")
        spot = Spot()
        try:
            if parcel.edits is not None and await self._edit(chat_id, parcel):
                return Delivered(reference=parcel.edits)
            spot = await self._topics.spot(chat_id, parcel)
            reference, spot = await self._send_into(chat_id, parcel, spot)
            await self._topics.leave(chat_id, parcel, spot)
        except TelegramError as error:
            return refusal_of(error, chat_id).model_copy(update={"thread": spot.opened})
        self._half_sent.pop(parcel.number, None)
        return Delivered(reference=reference, thread=spot.opened, lapse=spot.lapse)

    async def _edit(self, chat_id: int, parcel: Parcel) -> bool:
        """Put a message in the place of an earlier one; False where that is there no more or cannot be changed."""
        try:
            await self._bot.edit_message_text(
                escaped(split(parcel.message.text)[0]),
                chat_id,
                int(parcel.edits or ""),
                parse_mode=ParseMode.HTML,
                reply_markup=keyboard(parcel.message.buttons),
                link_preview_options=LinkPreviewOptions(is_disabled=True),
            )
        except ValueError:
            return False
        except BadRequest as error:
            words = error.message.lower()
            if "not modified" in words:
                return True
            if any(sign in words for sign in CANNOT_BE_EDITED):
                return False
            raise
        return True

    async def _send_into(self, chat_id: int, parcel: Parcel, spot: Spot) -> tuple[str, Spot]:
        """Send a message to its spot, or to another where its topic is there no more."""
        for _ in range(OTHER_SPOTS):
            try:
                return await self._send_parts(chat_id, parcel, spot), spot
            except BadRequest as error:
                spot = await self._topics.instead(chat_id, parcel, spot, error)
        return await self._send_parts(chat_id, parcel, spot), spot

    async def _send_parts(self, chat_id: int, parcel: Parcel, spot: Spot) -> str:
        file = parcel.made or parcel.message.file
        text = f"{spot.front}\n{parcel.message.text}" if spot.front else parcel.message.text
        parts = split(text, CAPTION if file else LONGEST)
        known, done = self._half_sent.get(parcel.number, (parts, 0))
        reference = ""
        for index in range(done if known == parts else 0, len(parts)):
            self._remember(parcel.number, parts, index)
            last = index == len(parts) - 1
            buttons = keyboard(parcel.message.buttons) if last else None
            message = await self._send(chat_id, parts[index], buttons, file if last else None, spot.thread)
            reference = str(message.message_id)
        self._remember(parcel.number, parts, len(parts))
        return reference

    async def _send(
        self,
        chat_id: int,
        text: str,
        buttons: InlineKeyboardMarkup | None,
        file: File | Made | None,
        thread: int | None,
    ) -> telegram.Message:
        """One part. A file that the service does not take leaves its words behind."""
        for kind, content in _as_taken(file):
            try:
                return await self._send_file(chat_id, kind, content, text, buttons, thread)
            except BadRequest as error:
                if not _about_the_file(error):
                    raise
        return await self._bot.send_message(
            chat_id,
            escaped(text),
            parse_mode=ParseMode.HTML,
            reply_markup=buttons,
            link_preview_options=LinkPreviewOptions(is_disabled=True),
            message_thread_id=thread,
        )

    async def _send_file(
        self,
        chat_id: int,
        kind: str,
        content: str | InputFile,
        text: str,
        buttons: InlineKeyboardMarkup | None,
        thread: int | None,
    ) -> telegram.Message:
        send: Callable[..., Awaitable[telegram.Message]] = getattr(self._bot, f"send_{kind}")
        if kind in WORDLESS:
            await send(chat_id, content, message_thread_id=thread)
            return await self._send(chat_id, text, buttons, None, thread)
        return await send(
            chat_id,
            content,
            caption=escaped(text),
            parse_mode=ParseMode.HTML,
            reply_markup=buttons,
            message_thread_id=thread,
        )

    def _remember(self, number: int, parts: list[str], done: int) -> None:
        if done == 0:
            return
        self._half_sent[number] = (parts, done)
        if len(self._half_sent) > HALF_SENT:
            self._half_sent.popitem(last=False)


def _as_taken(file: File | Made | None) -> list[tuple[str, str | InputFile]]:
    """What the service may call a file, with its number there or its bytes."""
    match file:
        case None:
            return []
        case File(what=what, reference=reference):
            return [(kind, reference) for kind in AS.get(what, ())]
        case Made(form=form, name=name, content=content):
            return [("photo" if form == "picture" else "document", InputFile(content, filename=name))]


def _about_the_file(error: BadRequest) -> bool:
    message = error.message.lower()
    return any(word in message for word in ("file", "photo", "image", "document"))
