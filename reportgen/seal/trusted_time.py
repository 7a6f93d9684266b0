"""A timestamp on a signature, asked of an RFC 3161 service over HTTP."""

from __future__ import annotations

import asyncio
import urllib.error
import urllib.request

from asn1crypto import cms, core, tsp
from pyhanko.sign.timestamps import TimeStamper
from pyhanko.sign.timestamps.common_utils import TimestampRequestError

from reportgen.certificates import reading_faults
from reportgen.errors import MachineError, UsageError

_LARGEST_ANSWER = 1 << 20
_QUERY, _REPLY = "application/timestamp-query", "application/timestamp-reply"  # RFC 3161, 3.4


class _Answer(core.Sequence):  # type: ignore[misc] # the ASN.1 library is not annotated
    """RFC 3161, 2.4.2: the token is absent when the request was refused; the library's own structure requires it."""

    _fields = [("status", tsp.PKIStatusInfo), ("time_stamp_token", core.Any, {"optional": True})]  # noqa: RUF012 - its way


class TimestampService(TimeStamper):
    """An RFC 3161 service at ``url`` (http or https), given ``seconds`` to answer.

    Raises ``UsageError`` for another kind of address; asking raises ``MachineError`` when the service fails.
    """

    def __init__(self, url: str, *, seconds: float = 20.0) -> None:
        if not url.startswith(("http://", "https://")):
            raise UsageError(f"a timestamp service has an http or https address, not `{url}`")
        super().__init__()  # type: ignore[no-untyped-call] # the library does not annotate it
        self.url = url
        self.seconds = seconds

    async def async_timestamp(self, message_digest: bytes, md_algorithm: str) -> cms.ContentInfo:
        """Return the service's token over ``message_digest``."""
        try:
            token = await super().async_timestamp(message_digest, md_algorithm)
            held = [one.chosen.dump() for one in token["content"]["certificates"] if one.name == "certificate"]
        except (TimestampRequestError, AttributeError, ValueError) as reason:  # the library trips over a foreign nonce
            raise self._failed("gives no usable timestamp") from reason
        for fault in [fault for one in held for fault in reading_faults(one, whole=True)]:
            raise self._failed(f"gives a timestamp that could not be checked: {fault.sentence}")
        return token

    async def async_request_tsa_response(self, req: tsp.TimeStampReq) -> tsp.TimeStampResp:
        """Return the service's answer to ``req``."""
        return await asyncio.to_thread(self._ask, req.dump())

    def _ask(self, query: bytes) -> tsp.TimeStampResp:
        request = urllib.request.Request(self.url, query, {"Content-Type": _QUERY, "Accept": _REPLY})  # noqa: S310 - http and https only, checked above
        try:
            with urllib.request.urlopen(request, timeout=self.seconds) as answer:  # noqa: S310 - as above
                kind, body = answer.headers.get_content_type(), answer.read(_LARGEST_ANSWER)
        except urllib.error.HTTPError as refusal:
            refusal.close()
            raise self._failed(f"answers {refusal.code} {refusal.reason}") from refusal
        except urllib.error.URLError as reason:
            raise self._failed(f"cannot be reached: {reason.reason}") from reason
        except OSError as reason:
            raise self._failed(f"cannot be reached: {reason}") from reason
        if kind != _REPLY:
            raise self._failed("does not answer with a timestamp")
        try:
            status = _Answer.load(body, strict=True)["status"]
            granted, words = status["status"].native, status["status_string"].native or [status["status"].native]
        except ValueError as reason:
            raise self._failed("does not answer with a timestamp") from reason
        if granted != "granted":
            raise self._failed(f"refuses: {'; '.join(words)}")
        return tsp.TimeStampResp.load(body)

    def _failed(self, how: str) -> MachineError:
        return MachineError(f"the timestamp service {self.url} {how}", help_text="sign without a timestamp, or later")
