"""The loop that writes nothing down: the library's own application with an echo.

The service forgets an update when the next poll confirms it; the application keeps it in memory until its turn comes.
"""

import logging

from telegram import Update
from telegram.ext import Application, ContextTypes, MessageHandler, filters


async def echo(update: Update, _: ContextTypes.DEFAULT_TYPE) -> None:
    """Answer a message with its text."""
    if update.message is not None:
        await update.message.reply_text(f"answer {update.message.text}")


def poll(url: str, token: str) -> int:
    """Run the loop until a signal comes."""
    logging.basicConfig(level=logging.CRITICAL)
    application = Application.builder().token(token).base_url(f"{url}/bot").build()
    application.add_handler(MessageHandler(filters.TEXT, echo))
    application.run_polling()
    return 0
