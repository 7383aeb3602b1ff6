"""One rule a module, listed by hand, in order."""
