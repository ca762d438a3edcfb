"""When to look at a unit again: one file per rule, and ``decide`` that keeps all that fired and the one that binds.

To add a rule, write a file with a function from (Unit, Limits) to a Due or None, and list it in ``decide.RULES``.
"""
