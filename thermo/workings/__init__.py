"""Hand calculations of every figure: equation, source, range, numbers put in, answer.

The values are those of the engine's own functions; each equation is evaluated again with the
numbers as they are printed, and only as many digits of the answer are shown as that returns.
"""
