"""The REST service over Flask; `create_app` is what a server is given."""

from service.api.application import create_app

__all__ = ["create_app"]
