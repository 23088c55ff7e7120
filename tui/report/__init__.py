"""The report to hand over: one document, and its writers."""
