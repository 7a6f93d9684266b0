"""A template: page size, language, units shown, order and presence of sections. It cannot remove what must be there."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from reportgen.fields import Ident, Length, Model, YesNo, refusal
from reportgen.units import parse_quantity

Section = Literal[
    "summary",
    "requirements",
    "conditions",
    "equipment",
    "areas",
    "nonconformances",
    "photos",
    "replicas",
    "method",
    "safety",
    "readings",
    "derivation",
    "integrity",
]

REQUIRED: dict[str, str] = {
    "summary": "identity, result, statement of conformity and signature (ISO/IEC 17020 §7.4.2 a, b, d to f)",
    "requirements": "the specification and the decision rule (ISO/IEC 17025 §7.8.2.1 f, §7.8.6)",
    "conditions": "the conditions that influence the result (ISO/IEC 17025 §7.8.3.1 a)",
    "equipment": "the equipment used (ISO/IEC 17020 Annex B)",
    "areas": "the inspection results (ISO/IEC 17020 §7.4.2 g)",
    "nonconformances": "what was found not to conform, and its state",
    "method": "methods, sampling and uncertainty (ISO/IEC 17025 §7.8.2.1 f, k; §7.8.3.1)",
    "safety": "the cautions for work around abrasive blasting",
    "photos": "the photos, each with its caption and hash",
    "integrity": "embedded files, how to verify, and the clear end of the report (ISO/IEC 17025 §7.8.2.1 d)",
}
"""Sections that no template may leave out, and what each carries."""

_ORDER: tuple[Section, ...] = (
    "summary", "requirements", "conditions", "areas", "nonconformances", "equipment", "photos", "method", "safety",
    "integrity",
)  # fmt: skip


class ReplicaLabel(Model):
    """Size of the label a replica is affixed to, and of the round of tape that was burnished."""

    width: Length = parse_quantity("60 mm", "length")
    height: Length = parse_quantity("25 mm", "length")
    circle: Length = parse_quantity("10 mm", "length")

    @model_validator(mode="after")
    def _fits(self) -> Self:
        width, height, circle = (getattr(self, side).in_unit("mm") for side in ("width", "height", "circle"))
        if not (30 <= width <= 170 and 15 <= height <= 120):
            raise refusal(
                "JOB183",
                f"a replica label of {self.width} by {self.height} does not fit the page",
                "use 30 to 170 mm by 15 to 120 mm",
            )
        if not 3 <= circle <= height:
            raise refusal(
                "JOB183", f"a `circle` of {self.circle} does not fit a label {self.height} high", "use 3 mm or more"
            )
        return self


class PhotoStyle(Model):
    """Which data of a photo's own are printed under it; they are never kept in the picture."""

    time: YesNo = True
    position: YesNo = False


class Template(Model):
    """Look of a report. Every field has a default, so that an empty template is the standard one."""

    page: Literal["A4", "letter"] = "A4"
    language: Annotated[Ident, Field(description="language of the labels, such as `en`")] = "en"
    units: Annotated[
        Literal["both", "specification"],
        Field(description="`both`: limits also in the other unit system, in brackets"),
    ] = "both"
    sections: Annotated[list[Section], Field(description="sections in their order; the summary comes first")] = list(
        _ORDER
    )
    logo: Annotated[YesNo, Field(description="print the inspection body's logo where the project names one")] = True
    replica_label: ReplicaLabel = ReplicaLabel()
    photos: PhotoStyle = PhotoStyle()

    @model_validator(mode="after")
    def _sections_are_complete(self) -> Self:
        for section, carries in REQUIRED.items():
            if section not in self.sections:
                raise refusal(
                    "JOB180", f"section `{section}` cannot be left out: it carries {carries}", f"add `{section}`"
                )
        twice = next((name for name in self.sections if self.sections.count(name) > 1), None)
        if twice:
            raise refusal("JOB181", f"section `{twice}` is listed twice", "list each section once")
        if self.sections[0] != "summary":
            raise refusal("JOB182", f"the report cannot begin with `{self.sections[0]}`", "put `summary` first")
        if self.sections[-1] != "integrity":
            raise refusal("JOB182", f"the report cannot end with `{self.sections[-1]}`", "put `integrity` last")
        return self
