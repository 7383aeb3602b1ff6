"""From files to records: YAML with positions, and every mistake as a located problem."""
