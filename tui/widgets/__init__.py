"""Widgets of the terminal UI: each shows what :mod:`tui.present` made of a result."""
