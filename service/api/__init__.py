"""The REST service over Flask; a server runs `create_app`."""

from service.api.application import create_app

__all__ = ["create_app"]
