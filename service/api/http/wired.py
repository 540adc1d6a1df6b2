"""How a view reaches the wiring of its application."""

from __future__ import annotations

from typing import cast

from flask import current_app

from service.wiring import Wiring

EXTENSION = "framing-quotes"


def wiring() -> Wiring:
    """The wiring of the application that answers now."""
    return cast(Wiring, current_app.extensions[EXTENSION])
