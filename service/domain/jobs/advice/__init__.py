"""Advisories on a job: what a framer should know before it is sold or cut."""
