"""Published formulas, each with its source and a check value. The one place where the generator knows medicine."""
