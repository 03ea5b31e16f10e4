"""What a stage is: parts, nodes and sources, and the algebra that follows from them.

Nothing in this floor knows a number: it has no NumPy and no part values.
"""
