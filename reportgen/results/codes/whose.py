"""Why what one found is not another's to close or undo: facts."""

from reportgen.results.facts import Facts


class NotTheirs(Facts):
    """``inspector`` of a ``later`` report has neither role nor organisation of that of ``report``, which raised it."""

    inspector: str
    report: str
    later: str


class OtherPin(NotTheirs):
    """``report`` pins a certificate for whom a ``later`` one names so, and that pins another or none for ``whom``.

    That is the inspector, or who named the inspector successor.
    """

    whom: str


class OtherHouse(NotTheirs):
    """``report`` states an organisation of the inspector, and the project file of a ``later`` one another or none."""
