"""Every table of the service: importing this module completes `metadata`.

Each store defines its tables beside its statements. Migrations and tests need all of them.
"""

from service.persistence import unit_of_work
from service.persistence.sql.metadata import metadata

__all__ = ["metadata", "unit_of_work"]
