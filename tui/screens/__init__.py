"""Screens of the terminal UI."""
