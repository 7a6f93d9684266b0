"""The answer of a verification, as data: reasons, twelve numbered steps, who signed, verdict and what stands by it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, Literal, get_args

from reportgen.errors import ReportgenError
from reportgen.formats.decoding import value_from
from reportgen.results.signatories import Signatory  # noqa: TC001 - `value_from` asks for the types of fields
from reportgen.words.catalogue import LANGUAGE, catalogue
from reportgen.words.told import broke, plain_told, told, told_again

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

Status = Literal["passed", "failed", "indeterminate", "not done", "superseded"]
Weight = Literal["failed", "indeterminate"]
What = Literal["proof", "revocation", "timestamp"]
ChainState = Literal["trusted", "unknown", "ended", "revoked", "unfit"]
"""Whether a signer's chain is believed; if not: it leads to no trusted root, was over or revoked, or does not permit
this. ``revoked`` is also said of one revoked after the signature was proven to be there."""

REQUIRED_STEPS = range(1, 11)
"""Steps that must have passed for the whole to pass; 11 and 12 need a register, or further files."""

_ON_WHICH_ALL_RESTS = (1, 7)

REASONS: Mapping[str, Weight] = {
    # ETSI EN 319 102-1, clause 5.1.3: total-failed
    "FORMAT_FAILURE": "failed",
    "HASH_FAILURE": "failed",
    "SIG_CRYPTO_FAILURE": "failed",
    "REVOKED": "failed",
    "EXPIRED": "failed",
    "NOT_YET_VALID": "failed",
    # the same clause: indeterminate
    "SIG_CONSTRAINTS_FAILURE": "indeterminate",
    "CHAIN_CONSTRAINTS_FAILURE": "indeterminate",
    "CERTIFICATE_CHAIN_GENERAL_FAILURE": "indeterminate",
    "CRYPTO_CONSTRAINTS_FAILURE": "indeterminate",
    "NO_SIGNING_CERTIFICATE_FOUND": "indeterminate",
    "NO_CERTIFICATE_CHAIN_FOUND": "indeterminate",
    "REVOKED_NO_POE": "indeterminate",
    "OUT_OF_BOUNDS_NO_POE": "indeterminate",
    "TRY_LATER": "indeterminate",
    # what this kind of report must be beyond that clause
    "NO_SIGNATURE": "failed",
    "BYTES_AFTER_END": "failed",
    "TOO_MANY_REVISIONS": "failed",
    "UNCOVERED_BYTES": "failed",
    "HIDDEN_IN_SIGNATURE": "failed",
    "SIGNATURE_COUNT": "failed",
    "CHANGED_WHEN_SIGNING": "failed",
    "CHANGED_AFTER_SIGNING": "failed",
    "SIGNER_NOT_PINNED": "failed",
    "SIGNER_NOT_NAMED": "indeterminate",
    "REQUIRED": "indeterminate",
    "SIGNED_TWICE": "failed",
    "CLAIMED_TIME_IN_FUTURE": "failed",
    "TIMES_DISAGREE": "failed",
    "NOT_ISSUED": "failed",
    "PORTFOLIO": "failed",
    "FILES_DISAGREE": "failed",
    "EMBEDDED_FILES": "failed",
    "EVALUATION_DIFFERS": "failed",
    "RELEASE_DIFFERS": "failed",
    "PAGE_TEXT_DIFFERS": "failed",
    "PAGES_DIFFER": "failed",
    "REGISTER_DISAGREES": "failed",
    "RESOURCE_LIMIT": "indeterminate",
    "ENCRYPTED": "indeterminate",
    "ACTIVE_CONTENT": "indeterminate",
    "LAYERS": "indeterminate",
    "EXTERNAL_REFERENCE": "indeterminate",
    "ANNOTATIONS": "indeterminate",
    "ORPHAN_OBJECTS": "indeterminate",
    "DEMONSTRATION": "indeterminate",
    "OTHER_RELEASE": "indeterminate",
    "INPUT_REFUSED": "indeterminate",
    "COVER_DIFFERS": "indeterminate",
    "NOT_REBUILT": "indeterminate",
    "NOT_DONE": "indeterminate",
}
"""Every reason there is and what it makes of the verdict."""


NOTICES: Final = frozenset({
    "SINCE_CORRECTED",  # a verdict or decision is another by the newest edition of the rules
    "SLIP_NOT_UPHELD",  # a release slip and the report of its shift say otherwise: who holds the slip has to be told
    "REGISTER_FORKED",  # another file was issued upon the same row of a register, which went on in two copies
    "NOT_ENTITLED",  # it claims to revise another file, or another claims to revise it, by one who may not
    "NUMBER_DISPUTED",  # another file given with it claims its number, and neither is proven to replace the other
    "RELEASE_WITHDRAWN",  # a later report no longer releases the area of a release page: nobody may prime by it
    "NOT_ENCLOSED",  # a report that one in a submittal revises was given, and is not in it
    "WRITTEN_OTHERWISE",  # what nobody signs is not written as in the file that was issued, or in another copy
    "SIGNED_BY_ANOTHER",  # in another copy of the report one field is signed with another certificate
    "OWN_WORDS",  # what a release page says that no report given with it does: its signer's role, notes, closed items
    "OLD_RULES",  # issued more than a year after its edition of the rules was replaced
})  # fmt: skip
"""What a reader of a report that passed has to know; none changes the verdict on the file."""
_AGAINST: Final = frozenset({"files-disputed", "files-not-entitled"})
SLIP_CODES: Final = frozenset({"slip-proven", "slip-undone", "slip-and-report"})
"""Codes of the details about a release slip."""
RELEASE_CODES: Final = frozenset({"release-rests-on", "release-agrees", "release-report-unproven"})
"""Codes of the details that only a release page has, in step 8."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A place in the evaluation and its word: by the rules of the report, and by the newest."""

    place: str
    then: str
    now: str


@dataclass(frozen=True, slots=True)
class Notice:
    """A name out of ``NOTICES``, one sentence that stands alone, and each place that it is about."""

    name: str
    sentence: str
    places: tuple[Changed, ...] = ()


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a step did not pass: a name out of ``REASONS`` and one sentence that stands alone."""

    name: str
    sentence: str

    @property
    def weight(self) -> Weight:
        """What this reason makes of the verdict."""
        return REASONS[self.name]


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered step: its title, status, reasons where it did not pass, and what was found.

    ``unproven`` says what was left out of the comparison, though the step passed; ``notices`` what has changed since;
    ``broke_off`` that it was not done through a fault of this program or machine.
    """

    number: int
    status: Status
    reasons: tuple[Reason, ...] = ()
    details: tuple[str, ...] = ()
    unproven: tuple[str, ...] = ()
    notices: tuple[Notice, ...] = ()
    broke_off: bool = False

    @property
    def title(self) -> str:
        """What the step proves."""
        return self.title_in(LANGUAGE)

    def title_in(self, language: str) -> str:
        """What the step proves, in a language."""
        return catalogue(language)(f"record.step.{self.number}")

    @property
    def undone(self) -> Reason:
        """What keeps a file from passing when this step was not done."""
        name = "NOT_REBUILT" if self.number == 10 and not self.broke_off else "NOT_DONE"
        return Reason(name, told("step-not-done", number=self.number, why=self.details))


@dataclass(frozen=True, slots=True)
class Signer:
    """One signature: who, by which certificate, trusted through which root, when.

    ``kind`` is the role that the field stands for, or ``not named``: the job names another person there. ``doubts``
    are the names of the reasons that are about this signature, ``left_sha256`` is the hash of the file as it left it.
    ``bound_by`` is what makes the certificate that of the person the job names there.
    ``chain`` is what its chain of certificates is worth, ``chain_since`` when it ended or was revoked; ``anchor`` is
    the root by which the library believes it. ``revoked_not_before`` is the date of the revocation data that its chain
    was held against, ``unchecked`` names what is lacking to say that no certificate was revoked on which the proof
    rests, those of timestamps too. ``issued_by`` are the SHA-256 of the certificates at hand that issued its own, and
    ``distinguished_name`` is the subject of that as in RFC 4514: by these a pin is told from another.
    """

    field: str
    kind: Literal["inspector", "countersigner", "engineer", "not named"]
    subject: str
    issuer: str
    fingerprint: str
    anchor: str | None
    claimed_time: str | None
    proven_time: str | None
    timestamp_authority: str | None
    revocation: str
    algorithm: str
    demonstration: bool
    chain: ChainState
    chain_since: str | None = None
    doubts: tuple[str, ...] = ()
    left_sha256: str = ""
    bound_by: Literal["policy", "project", "name", "nothing"] = "nothing"
    revoked_not_before: str | None = None
    unchecked: tuple[str, ...] = ()
    issued_by: tuple[str, ...] = ()
    distinguished_name: str = ""

    @property
    def certificate(self) -> str:
        """Its certificate, by the SHA-256 in small digits, as reports and registers state it."""
        return self.fingerprint.replace(":", "").lower()

    @property
    def stands_alone(self) -> bool:
        """Whether whoever verifies trusts this very certificate, with no authority above it that vouches for names."""
        return self.anchor == self.fingerprint

    @property
    def chain_told(self) -> str:
        """What is told of its chain: its state, with ``since`` where a date of it is known, or ``itself``."""
        if self.stands_alone and self.chain == "trusted":
            return "itself"
        return f"{self.chain} since" if self.chain_since else self.chain


@dataclass(frozen=True, slots=True)
class End:
    """The last second at which, with the file alone, its signatures prove something, all revocation is known that this
    rests on, or the time of each signature is proven.
    """

    what: What
    at: str


def beyond_proof(signers: Collection[Signer]) -> Mapping[What, bool]:
    """Return what is so of the signatures besides that they prove something: all revocation is known that this rests
    on, and the time of each is proven.
    """
    return {
        "revocation": bool(signers) and all(one.revoked_not_before and not one.unchecked for one in signers),
        "timestamp": bool(signers) and all(one.proven_time for one in signers),
    }


@dataclass(frozen=True, slots=True)
class Verification:
    """The whole answer about one file; ``overall`` is never ``passed`` unless all required steps passed.

    ``signatories`` are whom the job inside names to sign, as far as it could be read; ``policy_sha256`` is that of the
    policy file that was gone by, where one was given. ``required`` are the numbers of the steps without which nothing
    passes, ``asked`` what the policy requires besides, ``ends`` until when what was found of the signatures is so.
    ``covered`` are the SHA-256 of the bytes that each signature covers: who passes a file on can spell the signature
    itself otherwise, and never these. ``left`` are those of the file as each left it, its own value included.
    """

    sha256: str
    size: int
    verified_at: str
    steps: tuple[Step, ...]
    signers: tuple[Signer, ...] = ()
    unfilled_fields: tuple[str, ...] = ()
    signatories: tuple[Signatory, ...] = ()
    policy_sha256: str | None = None
    versions: tuple[tuple[str, str], ...] = ()
    required: tuple[int, ...] = tuple(REQUIRED_STEPS)
    asked: tuple[str, ...] = ()
    ends: tuple[End, ...] = ()
    covered: tuple[str, ...] = ()
    left: tuple[str, ...] = ()

    @property
    def register(self) -> Status:
        """How step 11 ended: ``passed`` where a register that was given has this very file."""
        return next((step.status for step in self.steps if step.number == 11), "not done")

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """All reasons, failures first, each once, in the order of the steps; where none failed, the steps not done.

        A file that cannot be opened, or whose list of files is not known, has that as its reason, not what follows.
        """
        found = dict.fromkeys(reason for step in self.steps for reason in step.reasons)
        failed = any(reason.weight == "failed" for reason in found)
        if not failed and not any(step.reasons for step in self.steps if step.number in _ON_WHICH_ALL_RESTS):
            undone = [step for step in self.steps if step.status == "not done"]
            found |= dict.fromkeys(one.undone for one in undone if one.number in self.required or one.broke_off)
        return tuple(sorted(found, key=lambda reason: reason.weight != "failed"))

    @property
    def broke_off(self) -> bool:
        """Whether a step was not done through a fault of this program or machine, and a doubt is left by it."""
        return self.overall != "failed" and any(step.broke_off for step in self.steps)

    @property
    def slips(self) -> tuple[str, ...]:
        """What was found of release slips: whether the report in hand agrees with those it holds, or that of a slip."""
        return tuple(one for step in self.steps for one in step.details if getattr(one, "code", "") in SLIP_CODES)

    @property
    def standing(self) -> str:
        """``current``, ``superseded by revision n``, or ``unknown`` without a register or further files."""
        step = next((step for step in self.steps if step.number == 12), None)
        return "unknown" if step is None or step.status == "not done" else step.details[0]

    @property
    def stands(self) -> bool:
        """Whether nothing at hand is known to supersede or dispute it, and it is no revision by one who may not."""
        step = next((step for step in self.steps if step.number == 12), None)
        told_of = {getattr(one.sentence, "code", "") for one in self.notices}
        return (step is None or step.status != "superseded") and told_of.isdisjoint(_AGAINST)

    @property
    def time(self) -> Literal["proven", "claimed"]:
        """Whether trusted authorities prove when each signature was there."""
        return "proven" if beyond_proof(self.signers)["timestamp"] else "claimed"

    @property
    def revocation_until(self) -> str | None:
        """Until when it is known that no certificate was revoked; None where that was not checked."""
        dates = [signer.revoked_not_before for signer in self.signers]
        return min(filter(None, dates)) if dates and all(dates) else None

    @property
    def revocation(self) -> str:
        """Until when it is known that no certificate was revoked, or ``not checked``."""
        return f"checked until {self.revocation_until}" if self.revocation_until else "not checked"

    @property
    def holds_until(self) -> str | None:
        """The last second at which a file that passed does so with itself and what was given alone."""
        return self._until("proof", *self.asked)

    @property
    def unchanged_until(self) -> str | None:
        """The last second at which all that is told of a file that passed is still so, not its verdict alone."""
        return self._until(*get_args(What))

    def _until(self, *whats: str) -> str | None:
        return (
            min((end.at for end in self.ends if end.what in whats), default=None) if self.overall == "passed" else None
        )

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What a reader has to know though the file passed."""
        return tuple(notice for step in self.steps for notice in step.notices)

    @property
    def overall(self) -> Literal["passed", "failed", "indeterminate"]:
        """``failed`` if any step failed, else ``passed`` if all required ones passed and none is in doubt."""
        weights = {reason.weight for reason in self.reasons}
        if "failed" in weights:
            return "failed"
        return "indeterminate" if weights else "passed"

    @property
    def against_vouching(self) -> list[Reason]:
        """Why nobody puts a name below the file: it fails, or is signed by others than it names."""
        return [one for one in self.reasons if one.weight == "failed" or one.name == "SIGNER_NOT_NAMED"]

    def step(self, number: int) -> Step:
        """Return the step of a number, 1 to 12; ``StopIteration`` where there is none."""
        return next(one for one in self.steps if one.number == number)

    def with_step(self, step: Step) -> Verification:
        """Return the same answer with ``step`` in place of the one of its number."""
        return replace(self, steps=tuple(step if one.number == step.number else one for one in self.steps))

    def plain(self) -> dict[str, Any]:
        """Return everything as JSON types, for ``--json`` and for the pipe from the child process."""
        steps = [{**plain_told(step), "title": step.title} for step in self.steps]
        whole = plain_told(self) | {"steps": steps, "versions": dict(self.versions)}
        head = {"overall": self.overall, "reasons": plain_told(self.reasons), "notices": plain_told(self.notices)}
        head |= {"standing": self.standing, "time": self.time, "revocation": self.revocation}
        until = {"revocation_until": self.revocation_until, "holds_until": self.holds_until}
        head |= {name: date for name, date in until.items() if date is not None}
        return {"format": 1, **head, **whole}


def step_of(number: int, reasons: Iterable[Reason], details: Iterable[str] = ()) -> Step:
    """Return the step whose status follows from its reasons: failed, indeterminate or, without any, passed."""
    found = tuple(dict.fromkeys(reasons))
    weights = {reason.weight for reason in found}
    status: Status = "failed" if "failed" in weights else "indeterminate" if weights else "passed"
    return Step(number, status, found, tuple(details))


def not_done(number: int, *why: str, broke_off: bool = False) -> Step:
    """Return the step as not done, with the sentences that say why; ``broke_off`` where the fault is ours."""
    return Step(number, "not done", (), why, broke_off=broke_off)


def broken_off(number: int, fault: Exception) -> Step:
    """Return the step as not done because this program or machine could not go on with it: no fault of the file."""
    known = isinstance(fault, ReportgenError | OSError | ImportError | MemoryError)
    why = broke(fault) if known else told("broke-by-error-of-ours")
    return not_done(number, told("broke-off", why=why), broke_off=True)


def from_plain(data: Mapping[str, Any]) -> Verification:
    """Return the verification that ``plain`` described; as ``value_from`` for anything else."""
    read = value_from(Verification, told_again({**data, "versions": ()}))
    return replace(read, versions=tuple(data["versions"].items()))
