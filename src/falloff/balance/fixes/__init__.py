"""find_fixes(case) -> FoundFixes: what would bring in the targets that no dim brings in.

The flow: `start` (the balance that falls short), `candidates` (what may be done), `trials` (its
light), `weighing` (its dims and worth), `find` (ranks), `confirming` (the first ones traced).
"""
