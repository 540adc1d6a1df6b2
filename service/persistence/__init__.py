"""SQL storage: tables, column types, explicit row mapping, unit of work, migrations."""
