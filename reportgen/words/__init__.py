"""Everything that is said to a person: texts by key and language, numbers as printed."""
