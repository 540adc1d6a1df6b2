"""The Flask application: built from its wiring, with its blueprints."""

from __future__ import annotations

import os
from pathlib import Path

from flask import Flask

from service.api import coupons, customers, cutting, keys, payments, shop
from service.api import prices as price_lists
from service.api import tickets as cut_tickets
from service.api.estimates import bulk as bulk_estimates
from service.api.estimates import views as estimates
from service.api.events import feed as events
from service.api.events import webhooks
from service.api.http.body import check_coding
from service.api.http.context import EXTENSION
from service.api.http.edge import Edge, RequestIdInLogs
from service.api.http.operation import check_accept, check_declarations
from service.api.http.problems import register_problems
from service.api.materials import catalogue, offcuts, stock
from service.api.monitoring import health as operation
from service.api.monitoring import metrics
from service.api.monitoring.watching import watch
from service.api.pages import docs as documentation
from service.api.pages import form as quote_form
from service.api.pages import summary
from service.api.quotes import revisions as quote_revisions
from service.api.quotes import steps as quote_life
from service.api.quotes import views as quotes
from service.api.reports import views as reports
from service.env_file import environment
from service.settings import Settings
from service.wiring import Wiring, wire


def create_app(wiring: Wiring | None = None) -> Flask:
    """Return the service as a WSGI application.

    Args:
        wiring: its adapters; by default built from the environment and `.env`.

    Raises:
        TypeError: a view declares nothing, takes no key under `/v1`, or takes one elsewhere.
    """
    if wiring is None:
        folder = os.environ.get(metrics.FOLDER)
        settings = Settings.read(environment())
        wiring = wire(
            settings,
            shared=Path(folder) if folder else None,
            statement_seconds=settings.statement_seconds,
        )
    app = Flask("service.api", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = wiring.settings.body_limit
    app.config["MAX_FORM_MEMORY_SIZE"] = wiring.settings.body_limit
    app.url_map.strict_slashes = False
    app.url_map.merge_slashes = False  # it redirects to an HTML page
    app.extensions[EXTENSION] = wiring
    register_problems(app)
    app.before_request(check_accept)
    app.before_request(check_coding)
    for bp in (
        estimates.bp,
        bulk_estimates.bp,
        quotes.bp,
        quote_life.bp,
        quote_revisions.bp,
        coupons.bp,
        customers.bp,
        payments.bp,
        cut_tickets.bp,
        cutting.bp,
        offcuts.bp,
        stock.bp,
        catalogue.bp,
        shop.bp,
        price_lists.bp,
        events.bp,
        keys.bp,
        webhooks.bp,
        reports.bp,
        operation.bp,
        metrics.bp,
        quote_form.bp,
        summary.bp,
        documentation.bp,
    ):
        app.register_blueprint(bp)
    check_declarations(app)
    app.logger.addFilter(RequestIdInLogs())
    edge = Edge(watch(app), wiring.origins, wiring.settings.gzip_from)
    app.wsgi_app = edge  # type: ignore[method-assign]
    return app
