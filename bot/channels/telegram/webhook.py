"""Updates that the service brings by itself: where to, and how it shows that it is the service."""

import hashlib
import hmac
from dataclasses import dataclass

CONNECTIONS = 40
"""How many updates the service may bring at once; of one chat it brings one after the other."""


@dataclass(frozen=True)
class Webhook:
    """Where updates are brought to. The secret follows from the token, so every service that has one has the other."""

    url: str
    token: str

    def __repr__(self) -> str:
        """The address alone: the token is nobody's business."""
        return f"Webhook({self.url!r})"

    @property
    def secret(self) -> str:
        """What the service shows with every update (`X-Telegram-Bot-Api-Secret-Token`)."""
        return hmac.new(self.token.encode(), b"brimful webhook", hashlib.sha256).hexdigest()

    def is_shown(self, secret: str) -> bool:
        """Whether somebody showed the secret, compared in constant time."""
        return hmac.compare_digest(secret.encode(), self.secret.encode())
