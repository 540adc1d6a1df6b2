"""Where paper looks for fonts beside the shipped ones; set when the service is wired."""

from __future__ import annotations

from pathlib import Path

FOLDER: list[Path] = []
"""One folder, or none."""
