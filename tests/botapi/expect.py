"""How a refusal by the service shows in the library."""

import re
from typing import Any

import pytest
from telegram.error import BadRequest


def refused(text: str) -> Any:
    """Expect a 400 that says `text`; the library changes its case, so case does not count."""
    return pytest.raises(BadRequest, match=f"(?i){re.escape(text)}")
