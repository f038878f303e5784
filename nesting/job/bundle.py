"""All patterns of a job in one go: their pages as one PDF, their files for machines as one archive."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence

_NO_DATE = (1980, 1, 1, 0, 0, 0)
"""The first that an archive can hold: the same files always give the same bytes."""


def joined_pdf(documents: Sequence[bytes], *, title: str) -> bytes:
    """Return one PDF with the pages of all documents, one after the other, each at its own size.

    Args:
        documents: PDFs, at least one.
        title: What the document is called.

    Raises:
        ValueError: There is none.
    """
    import pikepdf

    if not documents:
        raise ValueError("nothing to join")
    stream = io.BytesIO()
    with pikepdf.open(io.BytesIO(documents[0])) as whole:
        for data in documents[1:]:
            with pikepdf.open(io.BytesIO(data)) as more:
                whole.pages.extend(more.pages)
        whole.docinfo["/Title"] = title
        whole.save(stream, static_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return stream.getvalue()


def archive(files: Mapping[str, bytes]) -> bytes:
    """Return an archive (ZIP) of files by name, without dates."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as whole:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, _NO_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            whole.writestr(entry, files[name])
    return stream.getvalue()
