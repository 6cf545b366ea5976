"""A Bot API double: a real HTTP server on loopback, at least as strict as the service it stands for.

`BotApi` is the service and its control; `serve` runs it on the present event loop, `Background` on a thread of its own.
"""

from tests.botapi.api import BotApi
from tests.botapi.background import Background
from tests.botapi.clock import Clock, ManualClock
from tests.botapi.faults import Fault
from tests.botapi.limits import Limits
from tests.botapi.server import serve

__all__ = ["Background", "BotApi", "Clock", "Fault", "Limits", "ManualClock", "serve"]
