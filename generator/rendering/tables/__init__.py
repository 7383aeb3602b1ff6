"""Tables for other programs: plain files that a spreadsheet or a calendar reads."""
