"""Published cases: textbook examples, standards' tables and closed forms that the engine meets.

Each module holds the cases of one area; :func:`thermo.published.case.all_cases` gathers them.
"""
