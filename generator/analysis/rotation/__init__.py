"""The timetable of a lab day: one list of rules that builds the solver's model and judges any timetable."""
