"""The figures of a report, one per file: ``(data, ax) -> ax``; only this folder imports matplotlib.

No figure relies on colour: what is served is plain, a lower rung lined, missing oxygen
hatched, so a black-and-white print says the same.
"""
