"""The hazards: one function each, from a solved event to a flag. To add one, see flags.py."""
