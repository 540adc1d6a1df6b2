"""The contract as it is kept beside the schemas; a test compares the two.

python -m service.cli.contract > schemas/openapi.json
"""

from __future__ import annotations

import json
import sys
from functools import cache
from typing import Any

from service.api.application import create_app
from service.api.http.contract import contract
from service.settings import Settings
from service.wiring import wire

NOWHERE = "sqlite:////nowhere/at/all.sqlite3"


@cache
def openapi_document() -> dict[str, Any]:
    """Return the OpenAPI document of the service."""
    wiring = wire(Settings.read({"DATABASE_URL": NOWHERE}))
    try:
        return contract(create_app(wiring))
    finally:
        wiring.close()


def openapi_text() -> str:
    """Return the document as committed: one line per value, for readable diffs."""
    return json.dumps(openapi_document(), ensure_ascii=False, indent=1) + "\n"


if __name__ == "__main__":
    sys.stdout.write(openapi_text())
