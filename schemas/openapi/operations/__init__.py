"""The operations of the OpenAPI document, one module per subject."""
