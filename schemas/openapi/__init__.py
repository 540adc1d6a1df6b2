"""The OpenAPI document, made from the schemas, the answers' shapes and the operations."""
