"""The way to people through Telegram."""

import os

os.environ.setdefault("PTB_TIMEDELTA", "1")
"""The library's spans of time as timedelta, its coming default; without it each one warns of the change."""

from bot.channels.telegram.channel import TELEGRAM, TelegramChannel, TelegramRefused  # noqa: E402 the library reads it
from bot.channels.telegram.redaction import hide  # noqa: E402

__all__ = ["TELEGRAM", "TelegramChannel", "TelegramRefused", "hide"]
