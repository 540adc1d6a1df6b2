"""The JSON Schema of the answers, one module per subject."""
