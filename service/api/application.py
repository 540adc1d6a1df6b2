"""The Flask application: made from its wiring, its parts registered one by one."""

from __future__ import annotations

from flask import Flask

from service.api import (
    bulk_estimates,
    catalogue,
    cut_tickets,
    cutting_plans,
    documentation,
    estimates,
    events,
    from_rack,
    keys,
    metrics,
    offcuts,
    operation,
    price_lists,
    quote_form,
    quote_life,
    quote_revisions,
    quotes,
    reports,
    shop,
    stock,
    summary,
    webhooks,
)
from service.api.edge import Edge, RequestIdInLogs
from service.api.problems import register_problems
from service.api.watching import watch
from service.api.wired import EXTENSION
from service.env_file import environment
from service.settings import Settings
from service.wiring import Wiring, wire


def create_app(wiring: Wiring | None = None) -> Flask:
    """The service as a WSGI application.

    Args:
        wiring: what it works with; by default made from the environment and `.env`.
    """
    wiring = wiring or wire(Settings.read(environment()))
    app = Flask("service.api", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = wiring.settings.body_limit
    app.config["MAX_FORM_MEMORY_SIZE"] = wiring.settings.body_limit
    app.url_map.strict_slashes = False
    app.extensions[EXTENSION] = wiring
    register_problems(app)
    for part in (
        estimates.part,
        bulk_estimates.part,
        quotes.part,
        quote_life.part,
        quote_revisions.part,
        cut_tickets.part,
        cutting_plans.part,
        offcuts.part,
        from_rack.part,
        stock.part,
        catalogue.part,
        shop.part,
        price_lists.part,
        events.part,
        keys.part,
        webhooks.part,
        reports.part,
        operation.part,
        metrics.part,
        quote_form.part,
        summary.part,
        documentation.part,
    ):
        app.register_blueprint(part)
    app.logger.addFilter(RequestIdInLogs())
    edge = Edge(watch(app), wiring.origins, wiring.settings.gzip_from)
    app.wsgi_app = edge  # type: ignore[method-assign]
    return app
