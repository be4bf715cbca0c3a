"""What nodes say, for tests: reported documents with what matters named and the rest filled in."""

from schemas import Held, Refusal, Reported

SHA_A, SHA_B = "a" * 64, "b" * 64


def reported(
    *, staged: Held | None = None, showing: Held | None = None, refuses: int | None = None, reason: str = "too many"
) -> Reported:
    refusal = None
    if refuses is not None:
        refusal = Refusal(revision=refuses, field="body.channels.0", reason=reason, remedy="fewer pixels")
    return Reported(boot_id="0a0b0c0d", session=1, staged=staged, showing=showing, refusal=refusal)
