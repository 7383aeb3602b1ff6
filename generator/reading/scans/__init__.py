"""Filled sheets read back from scans: a picture in, the marks of its boxes out, each with how sure that is."""
