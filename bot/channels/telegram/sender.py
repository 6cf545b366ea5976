"""Sending one message, in as many parts as it takes."""

from collections import OrderedDict

from telegram import Bot, LinkPreviewOptions
from telegram.constants import ParseMode
from telegram.error import TelegramError

from bot.channels.telegram.parts import escaped, keyboard, split
from bot.channels.telegram.refusals import refusal_of
from bot.model.message import Delivered, Parcel, Refusal

HALF_SENT = 1000
"""Of how many messages that left in part it is remembered how far they got."""


class Sender:
    """Sends through one bot."""

    def __init__(self, bot: Bot) -> None:
        self._bot = bot
        self._half_sent: OrderedDict[int, tuple[list[str], int]] = OrderedDict()

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        """Send one message; one that left in part goes on where it stopped, unless its text has changed meanwhile."""
        try:
            chat_id = int(parcel.address.chat)
        except ValueError:
            return Refusal(kind="bad", why="the address is no chat of this channel")
        parts = split(parcel.message.text)
        if not parts:
            return Refusal(kind="bad", why="the message has no text")
        known, done = self._half_sent.get(parcel.number, (parts, 0))
        reference = ""
        for index in range(done if known == parts else 0, len(parts)):
            self._remember(parcel.number, parts, index)
            last = index == len(parts) - 1
            try:
                message = await self._bot.send_message(
                    chat_id,
                    escaped(parts[index]),
                    parse_mode=ParseMode.HTML,
                    reply_markup=keyboard(parcel.message.buttons) if last else None,
                    link_preview_options=LinkPreviewOptions(is_disabled=True),
                )
            except TelegramError as error:
                return refusal_of(error, chat_id)
            reference = str(message.message_id)
        self._half_sent.pop(parcel.number, None)
        return Delivered(reference=reference)

    def _remember(self, number: int, parts: list[str], done: int) -> None:
        if done == 0:
            return
        self._half_sent[number] = (parts, done)
        if len(self._half_sent) > HALF_SENT:
            self._half_sent.popitem(last=False)
