"""The channel itself: polling in, sending out."""

import asyncio
import json
import logging
import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import count
from typing import Any

from telegram import (
    BotCommand,
    BotCommandScopeAllGroupChats,
    BotCommandScopeDefault,
    CallbackQuery,
    ChatMemberAdministrator,
    Update,
)
from telegram.constants import ChatAction
from telegram.error import BadRequest, InvalidToken, TelegramError
from telegram.ext import Application

from bot.channels.contract import NotReady, Receive
from bot.channels.telegram.inbox import InboxQueue, Raw, Read, read_update
from bot.channels.telegram.polling import PollingRequest
from bot.channels.telegram.reading import WANTED, read
from bot.channels.telegram.redaction import hide, redacted
from bot.channels.telegram.requests import SendingRequest
from bot.channels.telegram.sender import Sender
from bot.channels.telegram.webhook import CONNECTIONS as CONNECTIONS_IN
from bot.channels.telegram.webhook import Webhook
from bot.model.event import Arrival, File, GroupNamed, Sent
from bot.model.message import Delivered, Parcel, Refusal
from bot.model.person import Address

TELEGRAM = "telegram"
API_URL = "https://api.telegram.org"
CONNECTIONS = 16
POOL_SECONDS = 30.0
POLL_SECONDS = 30.0
ALBUM_SECONDS = 1.0
"""How long a part of an album is left waiting for the next one, which the service hands out by itself."""
SILENCE_SECONDS = 30.0
"""How much longer than a poll the service may be silent before that is trouble."""
PASS_ON_SECONDS = 1.0
"""How long the end waits for the library to take note of what was kept last; what it does not confirm comes again."""
RETRY_SECONDS = (1.0, 2.0, 4.0, 8.0, 15.0, 30.0)
LARGEST_DOWNLOAD = 20_000_000
"""Bytes of a file that the service gives to bots."""
MOST_ANSWERS = 100
"""How many presses may wait to be acknowledged; one beyond shows its waiting circle a little longer."""
REFUSED = "the service refuses the token; give the one it issued for this bot"
INVITE = re.compile(r"(/start(?:@\w+)?\s+)[^\s\"\\]+")

Menu = Mapping[str, Sequence[tuple[str, str]]]
"""Commands and what they do, by language; "" for every other language."""

log = logging.getLogger(__name__)


class TelegramRefused(Exception):
    """The channel cannot work as it is set up; the text says what to change."""


class TelegramChannel:
    """People by private chat with one bot, and the dealer's people in a group with a topic for each case.

    It polls, or has updates brought to the address of a `webhook`. `api_url` is where the service is (a server of one's
    own, for instance); `menu` is shown by the people's apps and `group_menu` in groups. One that `insists` goes on
    trying with a token that is refused: others run beside it.
    """

    name = TELEGRAM

    def __init__(
        self,
        token: str,
        dealer: str,
        *,
        now: Callable[[], datetime],
        api_url: str = API_URL,
        menu: Menu | None = None,
        group_menu: Menu | None = None,
        webhook: str | None = None,
        insists: bool = False,
        poll_seconds: float = POLL_SECONDS,
        album_seconds: float = ALBUM_SECONDS,
        retry_seconds: Sequence[float] = RETRY_SECONDS,
    ) -> None:
        hide(token)
        self._dealer = dealer
        self._insists = insists
        self._webhook = Webhook(webhook, token) if webhook else None
        if self._webhook is not None:
            hide(self._webhook.secret)
        self._is_connected = False
        self._menus = ((menu or {}, BotCommandScopeDefault()), (group_menu or {}, BotCommandScopeAllGroupChats()))
        self._now = now
        self._album_rest = timedelta(seconds=album_seconds)
        self._poll_seconds = poll_seconds
        self._retry_seconds = retry_seconds
        self._receive: Receive | None = None
        self._connecting: asyncio.Task[None] | None = None
        self._answers: set[asyncio.Task[None]] = set()
        self._polling = PollingRequest(self._keep)
        api_url = api_url.rstrip("/")
        sending = SendingRequest(CONNECTIONS, POOL_SECONDS)
        self._application: Application[Any, Any, Any, Any, Any, Any] = (
            Application.builder()
            .token(token)
            .base_url(f"{api_url}/bot")
            .base_file_url(f"{api_url}/file/bot")
            .request(sending)
            .get_updates_request(self._polling)
            .update_queue(InboxQueue())
            .job_queue(None)
            .build()
        )
        self._bot = self._application.bot
        self._sender = Sender(self._bot)

    async def start(self, receive: Receive) -> None:
        """Connect and begin to take in; without a network go on trying. TelegramRefused if the token is wrong."""
        self._receive = receive
        self._polling.begin()
        try:
            await self._connect()
        except InvalidToken:
            if self._insists:
                log.error("dealer %s: %s", self._dealer, REFUSED)  # noqa: TRY400 - its trace says no more
                self._connecting = asyncio.create_task(self._go_on_connecting(), name="telegram: connecting")
                return
            await self._bot.shutdown()
            raise TelegramRefused(REFUSED) from None
        except TelegramError as error:
            log.warning("the service cannot be reached yet: %s", redacted(str(error)))
            self._connecting = asyncio.create_task(self._go_on_connecting(), name="telegram: connecting")

    async def stop(self) -> None:
        """Confirm what was kept, take nothing more in, close the connections."""
        self._is_connected = False
        if self._connecting is not None:
            self._connecting.cancel()
            await asyncio.gather(self._connecting, return_exceptions=True)
        updater = self._application.updater
        if updater is not None and updater.running:
            await self._polling.pass_on(PASS_ON_SECONDS)
            await updater.stop()
        if self._application.running:
            await self._application.stop()
        if self._answers:
            await asyncio.gather(*self._answers, return_exceptions=True)
        await self._application.shutdown()
        await self._bot.shutdown()
        self._receive = None

    def trouble(self) -> str | None:
        """What keeps updates from coming in, in a sentence; None if nothing is known to, or none are to come in."""
        if self._receive is None or self._webhook is not None:
            return None
        return self._polling.trouble(self._poll_seconds + SILENCE_SECONDS)

    def is_from_service(self, secret: str) -> bool:
        """Whether whoever brings an update showed the webhook's secret."""
        return self._webhook is not None and self._webhook.is_shown(secret)

    async def take_in(self, raw: Raw) -> None:
        """Keep an update that the service brought, an unreadable one as it came. NotReady before `start` has ended."""
        if not self._is_connected:
            raise NotReady("the service has not been reached yet")
        await self._keep([read_update(raw)])

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        """Send one message, in parts if it is long."""
        return await self._sender.send(parcel)

    async def fetch(self, file: File) -> bytes | None:
        """The content of a file that somebody sent, if the service still has it and gives it out."""
        if file.size is not None and file.size > LARGEST_DOWNLOAD:
            return None
        try:
            found = await self._bot.get_file(file.reference)
            return bytes(await found.download_as_bytearray())
        except BadRequest as error:
            log.warning("a file could not be fetched: %s", redacted(str(error)))
            return None

    def link(self, secret: str) -> str:
        """The link that opens a chat with the bot and brings the invite."""
        return f"https://t.me/{self._bot.username}?start={secret}"

    async def busy_with(self, address: Address) -> None:
        """Show that somebody is typing; that it cannot be shown is nothing to anybody."""
        if address.chat.startswith("-"):
            return
        try:
            await self._bot.send_chat_action(int(address.chat), ChatAction.TYPING)
        except (TelegramError, ValueError) as error:
            log.debug("typing could not be shown: %s", type(error).__name__)

    async def _connect(self) -> None:
        updater = self._application.updater
        if updater is None:
            raise RuntimeError("the application was built without an updater")
        await self._application.initialize()
        await self._show_menu()
        self._is_connected = True
        if self._webhook is not None:
            await self._bot.set_webhook(
                self._webhook.url,
                secret_token=self._webhook.secret,
                max_connections=CONNECTIONS_IN,
                allowed_updates=WANTED,
                drop_pending_updates=False,
            )
            return
        if not self._application.running:
            await self._application.start()
        await updater.start_polling(
            timeout=timedelta(seconds=self._poll_seconds),
            allowed_updates=WANTED,
            drop_pending_updates=False,
            error_callback=_polling_failed,
        )

    async def _show_menu(self) -> None:
        """Tell the people's apps the commands; without them everything works but is found less easily."""
        for menu, scope in self._menus:
            for language, commands in menu.items():
                shown = [BotCommand(name, what) for name, what in commands]
                try:
                    await self._bot.set_my_commands(shown, scope, language_code=language or None)
                except TelegramError as error:
                    log.warning("the menu of commands could not be shown: %s", redacted(str(error)))

    async def _go_on_connecting(self) -> None:
        for attempt in count():
            await asyncio.sleep(self._retry_seconds[min(attempt, len(self._retry_seconds) - 1)])
            try:
                await self._connect()
            except InvalidToken:
                log.error("dealer %s: %s", self._dealer, REFUSED)  # noqa: TRY400
                if not self._insists:
                    return
            except TelegramError as error:
                log.warning("the service cannot be reached yet: %s", redacted(str(error)))
            else:
                return

    async def _keep(self, batch: Sequence[Read]) -> None:
        """Keep a batch, each chat's updates one after the other; then end the waiting circles on pressed buttons."""
        by_chat: defaultdict[Address, list[Arrival]] = defaultdict(list)
        for one in batch:
            if (arrival := await self._arrival_of(one)) is not None:
                by_chat[arrival.address].append(arrival)
        kept = await asyncio.gather(*map(self._hand_on, by_chat.values()), return_exceptions=True)
        for failed in kept:
            if failed is not None:
                raise failed
        for _, update in batch:
            if update is not None and update.callback_query is not None:
                self._acknowledge(update.callback_query)

    async def _arrival_of(self, one: Read) -> Arrival | None:
        """What an update is to us; one that cannot be read is kept as it came, so that it isn't lost."""
        if one.update is None:
            return self._parked(one.raw)
        try:
            return await self._seen_closely(self._arrival(one.update))
        except Exception as error:  # whatever it stumbles over
            log.error("update %d cannot be read (%s) and is parked", one.update.update_id, type(error).__name__)  # noqa: TRY400
            return self._parked(one.raw)

    def _arrival(self, update: Update) -> Arrival | None:
        reading = read(update, self._bot.bot)
        if reading is None:
            return None
        is_part = isinstance(reading.event, Sent) and bool(reading.event.album)
        return Arrival(
            dealer=self._dealer,
            address=Address(channel=self.name, chat=str(reading.chat)),
            update=str(update.update_id),
            at=reading.at or self._now(),
            event=reading.event,
            name=reading.name,
            language=reading.language,
            group=reading.group,
            rests_until=self._now() + self._album_rest if is_part else None,
        )

    async def _seen_closely(self, arrival: Arrival | None) -> Arrival | None:
        """Whether the bot may open topics in a group that was named; where that can't be told, it will show."""
        if arrival is None or not isinstance(arrival.event, GroupNamed):
            return arrival
        try:
            me = await self._bot.get_chat_member(int(arrival.address.chat), self._bot.id)
        except TelegramError as error:
            log.warning("the bot's rights in a group cannot be told: %s", redacted(str(error)))
            return arrival
        may = isinstance(me, ChatMemberAdministrator) and bool(me.can_manage_topics)
        return arrival.model_copy(update={"event": arrival.event.model_copy(update={"may_open": may})})

    def _parked(self, raw: Raw) -> Arrival:
        """An update that cannot be read, without the invite that it may hold."""
        chat = chat_of(raw)
        return Arrival(
            dealer=self._dealer,
            address=Address(channel=self.name, chat="" if chat is None else str(chat)),
            update=str(raw["update_id"]),
            at=self._now(),
            event=None,
            raw=INVITE.sub(r"\1[invite]", json.dumps(raw)),
        )

    async def _hand_on(self, arrivals: Sequence[Arrival]) -> None:
        if self._receive is None:
            raise RuntimeError("nobody receives yet")
        for arrival in arrivals:
            await self._receive(arrival)

    def _acknowledge(self, press: CallbackQuery) -> None:
        """End the waiting circle on the button, beside everything else: too late or not at all changes nothing."""
        if len(self._answers) >= MOST_ANSWERS:
            return
        task = asyncio.create_task(self._answer(press.id), name="telegram: acknowledging a press")
        self._answers.add(task)
        task.add_done_callback(self._answers.discard)

    async def _answer(self, press: str) -> None:
        try:
            await self._bot.answer_callback_query(press)
        except Exception as error:  # the press counts all the same
            log.debug("a press could not be acknowledged: %s", type(error).__name__)


def _polling_failed(error: TelegramError) -> None:
    log.warning("asking for updates failed: %s", redacted(str(error)))


def chat_of(raw: object) -> int | None:
    """The number of the chat that a raw update comes from, as far as it can be found."""
    if not isinstance(raw, dict):
        return None
    chat = raw.get("chat")
    if isinstance(chat, dict) and isinstance(chat.get("id"), int):
        return int(chat["id"])
    return next((found for value in raw.values() if (found := chat_of(value)) is not None), None)
