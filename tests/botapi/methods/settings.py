"""The bot's commands and its webhook."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tests.botapi.errors import Json, bad_request
from tests.botapi.methods.registry import method

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params

COMMAND = re.compile(r"[a-z0-9_]{1,32}")
SCOPES = {
    "default",
    "all_private_chats",
    "all_group_chats",
    "all_chat_administrators",
    "chat",
    "chat_administrators",
    "chat_member",
}


@method("setMyCommands")
def set_my_commands(api: BotApi, params: Params) -> bool:
    """The menu of commands for a scope and language."""
    commands = params.tree("commands")
    if not isinstance(commands, list) or len(commands) > 100:
        raise bad_request("can't parse commands: at most 100 are expected in an array")
    for command in commands:
        if not COMMAND.fullmatch(str(command.get("command", ""))):
            raise bad_request("BOT_COMMAND_INVALID")
        if not 1 <= len(str(command.get("description", ""))) <= 256:
            raise bad_request("BOT_COMMAND_DESCRIPTION_INVALID")
    api.commands[_scope(params)] = commands
    return True


@method("getMyCommands")
def get_my_commands(api: BotApi, params: Params) -> list[Json]:
    """What was set for exactly this scope and language."""
    return api.commands.get(_scope(params), [])


@method("deleteMyCommands")
def delete_my_commands(api: BotApi, params: Params) -> bool:
    """Take back a scope's menu."""
    api.commands.pop(_scope(params), None)
    return True


@method("setWebhook")
def set_webhook(api: BotApi, params: Params) -> bool:
    """Have updates posted; an empty url goes back to polling."""
    if not params.text("url"):
        _stop_posting(api, params)
        return True
    certificate = "certificate" in params.files or bool(params.text("certificate"))
    connections = params.integer("max_connections", 40)
    api.webhook.set(params.text("url"), params.text("secret_token"), connections, certificate=certificate)
    api.updates.want(params.tree("allowed_updates"))
    if params.flag("drop_pending_updates"):
        api.updates.drop_pending()
    return True


@method("deleteWebhook")
def delete_webhook(api: BotApi, params: Params) -> bool:
    """Go back to polling."""
    _stop_posting(api, params)
    return True


@method("getWebhookInfo")
def get_webhook_info(api: BotApi, params: Params) -> Json:
    """How delivery stands."""
    api.updates.expire()
    info = api.webhook.info(len(api.updates.pending))
    return info | {"allowed_updates": sorted(api.updates.wanted)}


def _stop_posting(api: BotApi, params: Params) -> None:
    api.webhook.url = ""
    if params.flag("drop_pending_updates"):
        api.updates.drop_pending()


def _scope(params: Params) -> str:
    scope = params.tree("scope") or {"type": "default"}
    if scope.get("type") not in SCOPES:
        raise bad_request("unsupported BotCommandScope type specified")
    where = scope.get("chat_id", "")
    return f"{scope['type']}:{where}:{scope.get('user_id', '')}:{params.text('language_code')}"
