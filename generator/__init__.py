"""Rungbook: a hands-on skills handbook, its sheets and its honest trainer ladders, built from YAML."""

__version__ = "0.1.0"
