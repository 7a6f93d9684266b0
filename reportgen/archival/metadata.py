"""What a report says of itself, twice and alike: in the XMP packet and in the information dictionary."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal
from xml.sax.saxutils import escape

from reportgen.archival import pdfsyntax
from reportgen.pdf.fonts import storable

if TYPE_CHECKING:
    from datetime import datetime

# PDF/UA is not among the schemas that PDF/A knows: its one property has to be declared (ISO 19005-3 §6.6.2.3)
_UA_SCHEMA = """<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"\
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289 the file conforms to</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"><pdfuaid:part>1</pdfuaid:part></rdf:Description>
"""


@dataclass(frozen=True, slots=True)
class Metadata:
    """What identifies a report.

    Parameters
    ----------
    title : as shown by viewers; the same as the title of the pages
    number : report number, with the revision; the ``dc:identifier``
    issued : time of issue with its offset from UTC; written to the second
    producer : program and version that made the file
    author : inspection body or inspector
    subject : one line on what the report is about; may be empty
    language : BCP 47 language of the title, as of the document
    conformance : level of PDF/A-3: ``A`` for tagged pages, ``B`` for untagged ones
    accessible : claim PDF/UA-1; only for tagged pages
    """

    title: str
    number: str
    issued: datetime
    producer: str
    author: str
    subject: str = ""
    language: str = "en"
    conformance: Literal["A", "B"] = "A"
    accessible: bool = True

    def __post_init__(self) -> None:
        for field in ("title", "number", "producer", "author", "subject"):
            # on one line, and without what XML cannot hold: a contract's name may be written on two
            object.__setattr__(self, field, storable(" ".join(getattr(self, field).split())))
        for field in ("title", "number", "producer", "author"):
            if not getattr(self, field):
                raise ValueError(f"the {field} of a report may not be empty")
        if not re.fullmatch(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*", self.language):
            raise ValueError(f"not a language tag: {self.language!r}")
        if self.issued.utcoffset() is None:
            raise ValueError("the time of issue needs its offset from UTC")
        if self.accessible and self.conformance != "A":
            raise ValueError("an accessible file is tagged, and so PDF/A level A")


def information(metadata: Metadata) -> bytes:
    """The information dictionary; every entry has its equal in `xmp_packet`."""
    day = pdfsyntax.date(metadata.issued)
    texts = {
        b"/Title": metadata.title,
        b"/Author": metadata.author,
        b"/Subject": metadata.subject,
        b"/Creator": metadata.producer,
        b"/Producer": metadata.producer,
    }
    entries = [b"%b %b" % (key, pdfsyntax.string(text)) for key, text in texts.items() if text]
    return b"<<%b\n/CreationDate %b\n/ModDate %b>>" % (b"\n".join(entries), day, day)


def accessible_packet(title: str, language: str) -> bytes:
    """The XMP packet of pages that are no archival document: title, language, PDF/UA-1 (ISO 14289-1 §5 and §7.1)."""
    named = escape(storable(" ".join(title.split())))
    text = f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"\
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" pdfuaid:part="1">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{named}</rdf:li></rdf:Alt></dc:title>
<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>
"""
    return text.encode()


def xmp_packet(metadata: Metadata) -> bytes:
    """The XMP packet (ISO 16684-1), UTF-8, read-only, without padding."""
    moment = metadata.issued.isoformat(timespec="seconds")
    title, author, subject, producer, number = (
        escape(text) for text in (metadata.title, metadata.author, metadata.subject, metadata.producer, metadata.number)
    )
    language = metadata.language
    alternatives = "".join([f'<rdf:li xml:lang="{code}">{{text}}</rdf:li>' for code in ("x-default", language)])
    description = (
        f"<dc:description><rdf:Alt>{alternatives.format(text=subject)}</rdf:Alt></dc:description>\n" if subject else ""
    )
    text = f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/">
<dc:format>application/pdf</dc:format>
<dc:identifier>{number}</dc:identifier>
<dc:title><rdf:Alt>{alternatives.format(text=title)}</rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
{description}</rdf:Description>
<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/">
<xmp:CreatorTool>{producer}</xmp:CreatorTool>
<xmp:CreateDate>{moment}</xmp:CreateDate>
<xmp:ModifyDate>{moment}</xmp:ModifyDate>
<xmp:MetadataDate>{moment}</xmp:MetadataDate>
</rdf:Description>
<rdf:Description rdf:about="" xmlns:pdf="http://ns.adobe.com/pdf/1.3/"><pdf:Producer>{producer}</pdf:Producer></rdf:Description>
<rdf:Description rdf:about="" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">
<pdfaid:part>3</pdfaid:part>
<pdfaid:conformance>{metadata.conformance}</pdfaid:conformance>
</rdf:Description>
{_UA_SCHEMA if metadata.accessible else ""}</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>
"""
    return text.encode()
