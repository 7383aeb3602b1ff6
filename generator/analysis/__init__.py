"""Pure functions over the model: no files, no clock, no printing."""
