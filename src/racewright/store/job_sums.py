"""The checksums of the shop file's rows: a digest for what a record says, one for each revision, and one for each
change that covers its revisions and the change before it."""

from __future__ import annotations

import hmac

from racewright.records.ids import Id, digest


def data_digest(kind: str, body: str | None) -> str:
    """Stands for what a record of this kind says; `body` None: removed."""
    return digest("data", kind, body)


def revision_digest(job: Id, kind: str, record: Id, number: int, base: int, change: int, data: str) -> str:
    """What stands in revision.checksum; `data` is the digest of its body."""
    return digest("revision", job, kind, record, number, base, change, data)


def change_digest(
    before: str,
    number: int,
    job: tuple[Id, str],
    kind: str,
    target: int | None,
    at: str,
    by: str,
    what: str,
    revisions: list[str],
) -> str:
    """What stands in change.checksum: `before` is that of the change before, `job` the job's id and key, `revisions`
    the checksums of its revisions."""
    return digest("change", before, number, *job, kind, target, at, by, what, *revisions)


def claim_digest(secret: str, shop: Id, change: int, mark: str) -> str:
    """Stands for that this shop had a change of this number and mark; made with its secret, which is never told."""
    return hmac.new(secret.encode(), digest("heard", shop, change, mark).encode(), "sha256").hexdigest()[:32]


def device_digest(by: str, hour: str, versions: int, size: int) -> str:
    """What stands in device.checksum."""
    return digest("device", by, hour, versions, size)


def refused_digest(job: Id, kind: str, record: Id, base: int, found: int, at: str, by: str, data: str) -> str:
    """What stands in refused.checksum; `data` is the digest of its body."""
    return digest("refused", job, kind, record, base, found, at, by, data)
