"""What each name means that an answer of ``verify`` gives behind a sentence; the sentence says what it is this time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

MEANINGS: Final[Mapping[str, str]] = {
    "FORMAT_FAILURE": "The file, or a signature in it, is not built as its format asks.",
    "HASH_FAILURE": "The signed bytes are not those that were signed: the file was altered.",
    "SIG_CRYPTO_FAILURE": "The signature was not made with the key of the certificate that it names.",
    "REVOKED": "The certificate was revoked before the signature is proven to have been there.",
    "EXPIRED": "The certificate had expired by the time of the signature.",
    "NOT_YET_VALID": "The certificate was not valid yet at the time of the signature.",
    "SIG_CONSTRAINTS_FAILURE": "The signature or timestamp lacks, or has too much of, what its form for archives asks.",
    "CHAIN_CONSTRAINTS_FAILURE": "A certificate does not permit what it was used for.",
    "CERTIFICATE_CHAIN_GENERAL_FAILURE": "The chain from the certificate to a trusted authority does not hold.",
    "CRYPTO_CONSTRAINTS_FAILURE": "An algorithm or key is too weak to prove anything.",
    "NO_SIGNING_CERTIFICATE_FOUND": "The signature does not hold the certificate that it was made with.",
    "NO_CERTIFICATE_CHAIN_FOUND": "No trusted authority vouches for the certificate; `--trust` or `--policy` names"
    " whom you trust.",
    "REVOKED_NO_POE": "The certificate is revoked, and nothing proves that the signature is older.",
    "OUT_OF_BOUNDS_NO_POE": "A certificate has ended, and nothing proves that the signature is older.",
    "TRY_LATER": "Whether a certificate is revoked is not known yet; newer revocation data will tell.",
    "NO_SIGNATURE": "Nobody signed the file, so nothing holds it.",
    "BYTES_AFTER_END": "The file does not end where a PDF ends.",
    "TOO_MANY_REVISIONS": "The file was continued more often than is read.",
    "UNCOVERED_BYTES": "Bytes of the file are covered by no signature, or a signature lies elsewhere than it says.",
    "HIDDEN_IN_SIGNATURE": "Something lies in the place of a signature's value that is not the value.",
    "SIGNATURE_COUNT": "Signatures and the parts of the file that they cover do not match one to one.",
    "CHANGED_WHEN_SIGNING": "What the first signature brought into the file is not what signing brings.",
    "CHANGED_AFTER_SIGNING": "The file was continued after a signature with something else than signing or renewing.",
    "SIGNER_NOT_PINNED": "The certificate is not the one that the policy or the report has of this person.",
    "SIGNER_NOT_NAMED": "The certificate does not name the person for whom the signature stands.",
    "REQUIRED": "Your policy requires something that the file does not prove.",
    "SIGNED_TWICE": "One person's key signed for two.",
    "CLAIMED_TIME_IN_FUTURE": "A signature claims a time that has not come yet.",
    "TIMES_DISAGREE": "Report and signatures do not agree on when it was issued.",
    "NOT_ISSUED": "The report does not say that it was issued: it is a draft or something else.",
    "PORTFOLIO": "A reader would show a list of files in place of the pages.",
    "FILES_DISAGREE": "The embedded files contradict each other or their list.",
    "EMBEDDED_FILES": "The embedded files cannot be read, or are not those that were recorded.",
    "EVALUATION_DIFFERS": "The embedded readings do not give the embedded results when evaluated again.",
    "RELEASE_DIFFERS": "The release page says something else than the report that it names.",
    "PAGE_TEXT_DIFFERS": "The pages say something else than the results that they print.",
    "PAGES_DIFFER": "The pages, made again from what is embedded, are others.",
    "REGISTER_DISAGREES": "The register that was given does not have the file, or has it otherwise.",
    "RESOURCE_LIMIT": "Reading the file took more time or memory than a file is given, or came to no proper end.",
    "ENCRYPTED": "The file is encrypted and was not read.",
    "ACTIVE_CONTENT": "The file holds scripts or actions.",
    "LAYERS": "The file holds layers: it can look one way or another.",
    "EXTERNAL_REFERENCE": "The file refers to content outside of itself.",
    "ANNOTATIONS": "Something was laid over the pages.",
    "ORPHAN_OBJECTS": "The file holds something that nothing refers to.",
    "DEMONSTRATION": "Report or certificate call themselves a demonstration, not valid for issue.",
    "OTHER_RELEASE": "Another release of this program wrote the file; that one can tell what this one cannot.",
    "INPUT_REFUSED": "The embedded readings cannot be evaluated again.",
    "COVER_DIFFERS": "As its originals are proven here, the submittal would have another cover.",
    "NOT_REBUILT": "The pages were not made again, so that they come from the results is not proven.",
    "NOT_DONE": "A step could not be done; the sentence says why.",
    "SINCE_CORRECTED": "By the newest edition of the rules, a verdict or decision of the report is another; ask the"
    " inspection body what holds.",
    "SLIP_NOT_UPHELD": "A release slip and the report of its shift say otherwise of the area; tell whoever holds the"
    " slip, before the area is primed.",
    "RELEASE_WITHDRAWN": "A later report no longer releases the area of the release page; tell whoever holds the page,"
    " before the area is primed.",
    "REGISTER_FORKED": "Files that were given together were issued upon rows of a register that do not fit together."
    " Each may be sound by itself. The register went on in two copies, was changed, begun anew or repaired, or a file"
    " was issued to another folder (`-o`) or has another name since: ask for the register, and give it with"
    " `--register`. An audit calls it `register-forked` or `issued-astray`.",
    "NOT_ENTITLED": "A file claims to be a revision of one that was given with it, or that the register has, and"
    " is signed by one who may not.",
    "NUMBER_DISPUTED": "Files that were given together claim one number and say different things, and neither is proven"
    " to replace the other. Each may be sound by itself; ask who issued both, and build on neither until one is"
    " withdrawn by a revision of the other. An audit calls two of one revision `number-duplicate`.",
    "NOT_ENCLOSED": "A report in a submittal is a revision of one that was given with it and is not in it.",
    "WRITTEN_OTHERWISE": "What nobody signs in the file, such as the encoding of a signature or a timestamp on it, is"
    " not as in the file that the register records, or in another copy given with it. What was signed is the same, and"
    " counts once. Anybody who holds the file can make such a copy; keep the one that was issued.",
    "SIGNED_BY_ANOTHER": "Files that were given together are copies of one report, and one field is signed with another"
    " certificate in each, under the same name. Each may be sound by itself. Ask the person whose field it is which"
    " certificate is theirs, and pin it in a policy (`people`); an audit calls it `copy-signed-apart`.",
    "OWN_WORDS": "A release page states something that none of the reports given with it states, such as the role of"
    " its signer, what an audit noted, or that a nonconformance was closed in another report. For that there is only"
    " the word of the person who signed the page.",
    "OLD_RULES": "The report was issued by an edition of the rules that had been replaced more than a year before.",
}
