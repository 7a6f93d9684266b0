"""Who signs with which certificate, as a project file states it; and what whoever verifies believes and asks for."""

from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from reportgen.fields import Format, Line, Model, Name, Sha256, refusal
from reportgen.names import Pin, spelt_alike

Requirement = Literal["revocation", "timestamp", "register", "confinement"]


class SignerPin(Model):
    """By which certificate a person signs: by its SHA-256; or by the SHA-256 of its issuer's, and its subject."""

    certificate: Sha256 | None = None
    issuer: Sha256 | None = None
    subject: Annotated[Line | None, Field(description="subject as RFC 4514 writes it: CN=A. Name,O=Body")] = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        of_issuer = (self.issuer is not None, self.subject is not None)
        if of_issuer not in ((False, False), (True, True)) or (self.certificate is None) != of_issuer[0]:
            raise refusal(
                "JOB153",
                "a pin names one certificate, or an issuer and a subject",
                "write `certificate:` alone, or both `issuer:` and `subject:`; `reportgen identity show` prints them",
            )
        return self

    @property
    def pin(self) -> Pin:
        """The same as certificates are held against it."""
        return Pin(self.certificate, self.issuer, self.subject)


class TrustPolicy(Model):
    """The policy of whoever verifies; paths are those beside its file. Only they write it, never who signs."""

    format: Format = 1
    roots: Annotated[list[Line], Field(description="certificates of authorities, or folders of them")] = []
    timestamp_roots: Annotated[
        list[Line],
        Field(description="authorities of timestamps, believed about the time alone, above a signer too"),
    ] = []
    crls: Annotated[list[Line], Field(description="lists of revoked certificates")] = []
    ocsps: Annotated[list[Line], Field(description="answers about revocation (OCSP), in DER")] = []
    people: Annotated[
        dict[Name, SignerPin],
        Field(description="certificate of a person, by the id in a project file or by name; `sender`: submittals"),
    ] = {}
    require: Annotated[list[Requirement], Field(description="what else must be done before a report passes")] = []
    not_rebuilt: Annotated[
        Literal["refuse", "allow"], Field(description="whether a report whose pages cannot be made again here may pass")
    ] = "refuse"

    @field_validator("people")
    @classmethod
    def _one_pin_each(cls, people: dict[Name, SignerPin]) -> dict[Name, SignerPin]:
        entries = list(people.items())
        for place, (name, pin) in enumerate(entries):
            for other, further in entries[:place]:
                if spelt_alike(name, other) and pin != further:
                    raise refusal(
                        "JOB153",
                        f"`{other}` and `{name}` are one name with two pins",
                        "keep the one that is right: capitals and blanks tell no two people apart",
                    )
        return people
