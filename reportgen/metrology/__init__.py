"""Formulas: readings, climate, contamination, sampling, statistics, uncertainty, conformity. No jobs, no files.

Import from the modules; nothing is re-exported. Every formula takes and returns exact numbers: a ``Quantity`` where a
unit matters, a plain ``Fraction``, ``Decimal`` or ``int`` (``Exact``) where any one unit will do. Its docstring names
the source. Where it says nothing of errors, range or accuracy, none is raised, every value of the kind is in range and
the result is exact. Modules import downward only::

    tape → overlap | climate | contamination | plausibility | sampling | conformity
    statistics | uncertainty
    distributions
    exact
"""
