"""Scenarios as machines: what can be reached, how long a run lasts, and what each way to an end asks of a group."""
