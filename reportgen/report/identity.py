"""Who, what, where and when, what is replaced, and what page 1 says of limits and decision rule."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.blocks import running_text
from reportgen.report.requirements import stated_topics
from reportgen.report.verdicts import lowered
from reportgen.words.numbers import zone_text

if TYPE_CHECKING:
    from reportgen.pdf.flow import Flowable
    from reportgen.report.context import Context


def report_name(context: Context) -> str:
    """Number and revision, as in running text."""
    report = context.evaluation.report
    return context.words("report.name", number=report.number, revision=report.revision)


def supersedes(context: Context) -> list[Flowable]:
    """What this report replaces and why, where it replaces anything."""
    replaced = context.job.day.report.supersedes
    if not replaced:
        return []
    text = context.words("supersedes", revision=replaced.revision, reason=replaced.reason)
    return [running_text(text, "bold", before=5)]


def judged_against(context: Context) -> str:
    """What page 1 owes a reader who sees no other page: specification, limits, method and decision rule."""
    words, specification = context.words, context.job.project.specification
    stated = specification.profile
    limits = context.limits(stated.minimum, stated.maximum) or f"{stated.comparator_grade}"
    clause = f", {words('clause', clause=stated.clause)}" if stated.clause else ""
    sentence = words(
        "judged.profile", document=f"{specification.document}{clause}", limits=limits,
        method=f"{stated.method} ({stated.edition})", rule=words(f"rule.{stated.decision_rule}"),
        rounding=words(f"rounding.{stated.rounding}"),
    )  # fmt: skip
    others = [topic for topic in stated_topics(context) if topic != "profile"]
    names = [context.topic_name(topic) for topic in others]
    listed = ", ".join(lowered(context, name) for name in names)
    return f"{sentence} {words('judged.others', topics=listed)}" if others else sentence


def _register(context: Context) -> str:
    """The register's row this report was issued upon, or why there is none."""
    words, head = context.words, context.issue.register_head
    if head is None:
        return words(f"identity.unregistered.{context.issue.status}")
    if not head.sequence:
        return words("identity.register-first")
    return words("identity.register-head", sequence=head.sequence, hash=head.hash)


def identity_facts(context: Context) -> list[tuple[str, str]]:
    """Labels and values of the identity of a report."""
    words, job = context.words, context.job
    contract, day, body = job.project.project, job.day, job.project.inspection_body
    shift = day.report.shift
    inspector = job.project.people.get(day.report.inspector)
    name = day.report.inspector if inspector is None else inspector.name
    if inspector is not None and inspector.certificate:
        name = f"{name}, {inspector.certificate}"
    facts = [
        ("project", contract.name),
        ("contract", contract.contract),
        (
            "client",
            contract.client if contract.client_contact is None else f"{contract.client}, {contract.client_contact}",
        ),
        ("contractor", contract.contractor),
        ("site", contract.site),
        ("specification", job.project.specification.document),
        ("inspected", f"{day.report.date.isoformat()}, {shift.start:%H:%M}–{shift.end:%H:%M} {contract.time_zone}"),
        ("issued", f"{context.issue.at:%Y-%m-%d %H:%M} {zone_text(context.issue.at)}"),
        ("inspector", name),
        ("body", f"{body.name}, {body.address}"),
        ("register", _register(context)),
    ]
    if day.report.present:
        facts.append(("present", ", ".join(day.report.present)))
    if body.accreditation:
        facts.append(("accreditation", body.accreditation))
    return [(words(f"identity.{key}"), value) for key, value in facts]
