"""The pages of a submittal and of an audit report, from values that say everything; nothing is computed here."""
