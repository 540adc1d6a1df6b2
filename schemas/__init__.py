"""The wire contract: marshmallow schemas that load documents to domain objects and dump them.

They do not depend on the database or the request.
"""
