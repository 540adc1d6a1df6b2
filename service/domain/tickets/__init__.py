"""The cut ticket: what the bench needs, so that nobody does arithmetic beside a blade."""
