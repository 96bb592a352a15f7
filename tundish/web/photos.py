"""Routes of photos: kept under the hash of their content, looked into before, never shown as anything else."""

from __future__ import annotations

from typing import Any

from tundish.web.asked import PHOTO, Asked, Reply, Row
from tundish.web.errors import WebError
from tundish.web.kept import PHOTOS, keep, kept
from tundish.web.pictures import CHECKS, check_picture


def put(asked: Asked) -> dict[str, Any]:
    """Keep a photo. The same again is fine."""
    check_picture(asked.form, asked.media_type)
    found = keep(asked.desk.config.data / PHOTOS, asked.form, asked.path["sha256"])
    return {"sha256": found, "bytes": len(asked.form), "media_type": asked.media_type}


def get(asked: Asked) -> Reply:
    """A photo."""
    content = kept(asked.desk.config.data / PHOTOS, asked.path["sha256"])
    return Reply(content, media_type=_type_of(content), headers={"Content-Disposition": "inline"})


def _type_of(content: bytes) -> str:
    # Told from the bytes, not from what somebody said of them
    for media_type, check in CHECKS.items():
        try:
            check(content)
        except (WebError, ValueError, IndexError):
            continue
        return media_type
    return "application/octet-stream"


ROWS = (
    Row("PUT", "/api/photos/{sha256}", "keeps a photo", put, form=bytes, limit=PHOTO),
    Row("GET", "/api/photos/{sha256}", "a photo", get),
)
