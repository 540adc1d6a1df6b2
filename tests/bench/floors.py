"""The floors: the least that Flask, and Flask with validation, can do with the same document.

`bare` reads the JSON and sends it back. `validated` is an ordinary flask-smorest view that loads
the same document through an ordinary marshmallow schema and dumps it again. `stored` inserts the
body as one row, durably, in the same kind of database.
"""

from __future__ import annotations

import os
import sqlite3
import threading

import marshmallow as ma
import psycopg
from flask import Flask, Response, jsonify, request
from flask.views import MethodView
from flask_smorest import Api, Blueprint
from marshmallow import fields


class Artwork(ma.Schema):
    width = fields.String(required=True)
    height = fields.String(required=True)
    thickness = fields.String()
    kind = fields.String()


class Border(ma.Schema):
    top = fields.String(required=True)
    right = fields.String(required=True)
    bottom = fields.String(required=True)
    left = fields.String(required=True)


class Mat(ma.Schema):
    board = fields.String(required=True)
    border = fields.Nested(Border)
    reveal = fields.String()


class Glazing(ma.Schema):
    sheet = fields.String(required=True)


class Mounting(ma.Schema):
    method = fields.String()
    board = fields.String()


class Backing(ma.Schema):
    board = fields.String(required=True)


class Frame(ma.Schema):
    moulding = fields.String(required=True)


class Job(ma.Schema):
    label = fields.String()
    quantity = fields.Integer(strict=True)
    artwork = fields.Nested(Artwork, required=True)
    presentation = fields.String(required=True)
    overlap = fields.String()
    mats = fields.List(fields.Nested(Mat))
    glazing = fields.Nested(Glazing)
    mounting = fields.Nested(Mounting)
    backing = fields.Nested(Backing)
    frames = fields.List(fields.Nested(Frame))
    finishing = fields.List(fields.String())


class Customer(ma.Schema):
    name = fields.String()
    email = fields.String()


class Document(ma.Schema):
    units = fields.String()
    reference = fields.String()
    customer = fields.Nested(Customer)
    jobs = fields.List(fields.Nested(Job), required=True)


def bare() -> Flask:
    """Flask alone."""
    app = Flask("bare")

    @app.post("/echo")
    def echo() -> Response:
        return jsonify(request.get_json())

    return app


def validated() -> Flask:
    """flask-smorest, with the document's schema both ways."""
    app = Flask("validated")
    app.config.update(API_TITLE="echo", API_VERSION="v1", OPENAPI_VERSION="3.1.0")
    part = Blueprint("echo", "echo")

    @part.route("/echo")
    class Echo(MethodView):
        @part.arguments(Document)
        @part.response(200, Document)
        def post(self, document: dict[str, object]) -> dict[str, object]:
            return document

    Api(app).register_blueprint(part)
    return app


def stored() -> Flask:
    """Flask and one durable insert; SQLite with the service's own settings, or PostgreSQL."""
    app = Flask("stored")
    address = os.environ["FLOOR_DATABASE"]
    local = threading.local()

    def connection():
        if not hasattr(local, "db"):
            local.db = opened(address)
        return local.db

    mark = "?" if address.startswith("/") else "%s"

    @app.post("/store")
    def store() -> Response:
        db = connection()
        if address.startswith("/"):
            db.execute("BEGIN IMMEDIATE")
        db.execute(f"INSERT INTO floor (body) VALUES ({mark})", (request.get_data(as_text=True),))  # noqa: S608
        db.commit()
        return jsonify(request.get_json())

    return app


def opened(address: str):
    """A connection to the floor's database, with its table."""
    if address.startswith("/"):
        db = sqlite3.connect(address, timeout=10, isolation_level=None)
        db.execute("PRAGMA journal_mode=WAL")
        db.execute("PRAGMA synchronous=FULL")
        db.execute("CREATE TABLE IF NOT EXISTS floor (id INTEGER PRIMARY KEY, body TEXT)")
        return db
    db = psycopg.connect(address)
    db.execute("CREATE TABLE IF NOT EXISTS floor (id BIGSERIAL PRIMARY KEY, body TEXT)")
    db.commit()
    return db
