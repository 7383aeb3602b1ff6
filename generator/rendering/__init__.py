"""From records and results to pages, sheets and tables."""
