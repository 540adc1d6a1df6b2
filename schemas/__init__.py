"""The wire contract: marshmallow schemas that load documents to domain objects and write them out.

They know no database and no request.
"""
