"""The double on a thread of its own, with a bot in another process."""

import subprocess
import sys

from tests.botapi import Background, BotApi

ECHO = """
import sys
from telegram.ext import Application, MessageHandler, filters

async def echo(update, context):
    await update.message.reply_text(update.message.text.upper())

token, url = sys.argv[1:]
application = Application.builder().token(token).base_url(url).job_queue(None).build()
application.add_handler(MessageHandler(filters.TEXT, echo))
application.run_polling(timeout=5)
"""


def test_a_bot_in_another_process_is_killed_and_nothing_is_confirmed_that_it_did_not_fetch() -> None:
    with Background() as api:
        ada = api.person("Ada")
        ada.writes("hello")
        first = _start(api)
        ada.awaits("HELLO", within=60)
        first.kill()
        first.wait()
        ada.writes("anybody there?")
        assert len(api.ledger.unconfirmed()) >= 1
        second = _start(api)
        ada.awaits("ANYBODY THERE?", within=60)
        second.terminate()
        second.wait(timeout=60)
        assert api.ledger.unconfirmed() == []


def test_it_can_be_started_again_on_the_same_port_with_what_it_knew() -> None:
    api = BotApi()
    with Background(api):
        api.person("Ada").writes("hello")
        port = int(api.url.rpartition(":")[2])
    with Background(api, port):
        assert int(api.url.rpartition(":")[2]) == port
        assert len(api.updates.pending) == 1


def _start(api: BotApi) -> "subprocess.Popen[bytes]":
    return subprocess.Popen([sys.executable, "-c", ECHO, api.token, api.base_url])
