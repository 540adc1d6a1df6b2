"""`/openapi.json` and `/docs`: the contract as the service itself publishes it."""

from __future__ import annotations

from flask import Blueprint

part = Blueprint("documentation", __name__)
