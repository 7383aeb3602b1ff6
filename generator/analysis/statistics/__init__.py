"""Statistics of scored attempts. Plain functions of plain numbers; every result is a record.

A case that has no answer (nothing counted, no variance) is an `Undefined` with its reason, never a silent NaN.
A call that makes no sense (a negative count, a probability of 2) raises ValueError. Nothing is rounded here, and
intervals of agreement are not cut at -1 or 1: whoever shows them does that.
"""
