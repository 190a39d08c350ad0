"""A PDF that is written while it is drawn: what is finished leaves the memory.

ReportLab keeps every page until the file is saved, several kilobytes of objects for each.
Here a page goes out as soon as it is shown; what stays of it is its number and its place.
"""

from __future__ import annotations

from array import array
from typing import Any, BinaryIO

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import (
    PDFDocument,
    PDFFile,
    PDFImageXObject,
    PDFIndirectObject,
    PDFPage,
    PDFStream,
    PDFTrailer,
)
from reportlab.pdfgen.canvas import Canvas

from reports.drawing.fonts import Face, use

LANGUAGE = "en"
PDF_VERSION = (1, 7)  # ISO 32000-1; what a viewer is asked to show stands in 1.4 and 1.6
rl_config.useA85 = 0  # streams as they are: written out as text they take a quarter more

FINISHED = (PDFPage, PDFStream, PDFImageXObject)
"""What nothing is added to once its page is shown. Fonts and outlines grow to the end."""


class StreamedDocument(PDFDocument):
    """A document that writes to ``out`` as it grows; it is saved there and nowhere else."""

    def __init__(self, out: BinaryIO, **options: Any) -> None:
        super().__init__(**options)
        self._out = out
        self._size = 0
        self._offsets = array("Q", [0])  # by object number, in bytes; 0 is not written yet
        self._looked_at = 0
        self._write(PDFFile(self._pdfVersion).format(self))

    def page_done(self) -> None:
        """Write the page just shown, its stream, and the pictures that it shows first."""
        pages = self.Pages.pages
        pages[-1] = self.Reference(pages[-1])
        while self._looked_at < self.objectcounter:  # a page names its stream while written
            self._looked_at += 1
            name = self.numberToId[self._looked_at]
            if isinstance(self.idToObject[name], FINISHED):
                self._write_object(self._looked_at)
                self._let_go(name)

    def format(self) -> bytes:
        """The end of the file, after what is written already: all other objects, the index."""
        catalog, info = self.Reference(self.Catalog), self.Reference(self.info)
        number = 0
        while number < self.objectcounter:  # objects may name new ones while written
            number += 1
            if not self._offset(number):
                self._write_object(number)
        offsets = self._offsets[1:]
        index = "".join(f"{offset:010d} 00000 n \n" for offset in offsets)
        start = self._size
        self._write(f"xref\n0 {len(offsets) + 1}\n0000000000 65535 f \n{index}".encode())
        size = len(offsets) + 1
        end = PDFTrailer(startxref=start, Size=size, Root=catalog, Info=info, ID=self.ID())
        return bytes(end.format(self))

    def _offset(self, number: int) -> int:
        return self._offsets[number] if number < len(self._offsets) else 0

    def _write_object(self, number: int) -> None:
        name = self.numberToId[number]
        self._offsets.extend([0] * (number + 1 - len(self._offsets)))
        self._offsets[number] = self._size
        self._write(PDFIndirectObject(name, self.idToObject[name]).format(self))

    def _let_go(self, name: str) -> None:
        """Keep of what is written only what others ask of it."""
        content = self.idToObject[name]
        if isinstance(content, PDFImageXObject):
            content.streamContent = b""  # its size is asked for when it is shown again
            content.XObjects = None
        elif isinstance(content, PDFPage):
            self.idToObject[name] = None  # named by bookmarks and by the tree of pages
        else:
            del self.idToObject[name]  # the page's stream: named by its page alone
            del self.numberToId[self.idToObjectNumberAndVersion.pop(name)[0]]

    def _write(self, data: bytes) -> None:
        self._out.write(data)
        self._size += len(data)


class StreamedCanvas(Canvas):
    """A canvas on a :class:`StreamedDocument`. In points.

    It bears the time at which it was made; where ReportLab is set to be invariant (the tests are),
    equal pages give equal bytes. It begins in an embedded font: one that is not would be named in
    each file.
    """

    def __init__(self, out: BinaryIO, size: tuple[float, float]) -> None:
        super().__init__(out, pagesize=size, pageCompression=1, initialFontName=use(Face.REGULAR))
        self._doc = StreamedDocument(
            out, compression=1, invariant=None, lang=LANGUAGE, pdfVersion=PDF_VERSION
        )

    def showPage(self) -> None:  # noqa: N802
        """Close the page and write it."""
        super().showPage()
        self._doc.page_done()
