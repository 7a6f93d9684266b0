"""Published numbers and where they come from: citations, tables and standards, each with edition and confidence.

Only numbers, clause numbers and names are shipped, never a standard's prose. What was not read in the text itself
says so (``Citation.remark``), and every number a verdict may rest on can be stated otherwise by the contract.
"""

from reportgen.references.citations import citation, citation_keys
from reportgen.references.record_lists import record_lists
from reportgen.references.requirements import (
    COMPARATOR_GRADES,
    CleanlinessGrade,
    Comparator,
    MethodKind,
    cleanliness_grade,
    cleanliness_names,
    comparator_grade,
    known_rule,
    method_kind,
    method_names,
    method_rule,
    profile_grade,
    profile_grade_named,
    profile_grade_names,
)
from reportgen.references.shipped import editions, standard, table

__all__ = [
    "COMPARATOR_GRADES",
    "CleanlinessGrade",
    "Comparator",
    "MethodKind",
    "citation",
    "citation_keys",
    "cleanliness_grade",
    "cleanliness_names",
    "comparator_grade",
    "editions",
    "known_rule",
    "method_kind",
    "method_names",
    "method_rule",
    "profile_grade",
    "profile_grade_named",
    "profile_grade_names",
    "record_lists",
    "standard",
    "table",
]
