"""The OpenAPI document, built from the schemas, the answers' shapes and the operations."""
