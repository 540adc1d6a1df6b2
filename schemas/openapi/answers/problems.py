"""The shapes of problem documents."""

from __future__ import annotations

from schemas.openapi.components import record_shapes
from schemas.openapi.shapes import Shape
from schemas.wire.problems import Problem

PROBLEM: dict[str, Shape] = record_shapes((Problem,))
