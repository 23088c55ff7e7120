"""The command ``soakbox``: its verbs, and the terminal UI."""
