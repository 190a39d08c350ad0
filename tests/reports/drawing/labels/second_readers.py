"""Readers of barcodes that share nothing with the library that draws them (zxing-cpp).

Data Matrix is read by libdmtx, which pip installs, Code 128 by ZBar, which it does not: its
tests say ``needs("ZBar")``, and it is loaded when it is asked.
"""

from __future__ import annotations

from typing import Any

from arbez_dmtx import decode
from arbez_dmtx._libdmtx import pylibdmtx, wrapper
from PIL import Image

FNC1 = b"\xe8"
"""How :func:`gs1_bytes` tells Function 1, codeword 232: a byte that no plain text holds."""
ENLARGED = 3  # libdmtx wants more pixels to a module than a thermal printer has dots
LONGEST_MS = 20_000


def data_matrix_texts(image: Any) -> list[str]:
    """The text of the one Data Matrix in ``image``, as libdmtx reads it."""
    found = decode(_enlarged(image), max_count=1, timeout=LONGEST_MS)
    return [one.data.decode("ascii") for one in found]


def gs1_bytes(image: Any) -> bytes:
    """The one Data Matrix in ``image`` with each Function 1 in its place; empty for none.

    In the first place it makes the symbol a GS1 DataMatrix (ISO/IEC 16022), further on it
    ends an element of variable length. The Python side of libdmtx has no word for it, so it
    is asked of the C library.
    """
    pixels, width, height, _ = pylibdmtx._pixel_data(_enlarged(image))
    data = pylibdmtx.cast(pixels, pylibdmtx.c_ubyte_p)
    limit = wrapper.dmtxTimeAdd(wrapper.dmtxTimeNow(), LONGEST_MS)
    with (
        pylibdmtx._image(data, width, height, wrapper.DmtxPackOrder.DmtxPack24bppRGB) as picture,
        pylibdmtx._decoder(picture, 1) as decoder,
    ):
        wrapper.dmtxDecodeSetProp(decoder, wrapper.DmtxProperty.DmtxPropFnc1, FNC1[0])
        with pylibdmtx._region(decoder, limit) as region:
            if not region:
                return b""
            with pylibdmtx._decoded_matrix_region(
                decoder, region, wrapper.DmtxUndefined
            ) as message:
                read = message.contents if message else None
                return pylibdmtx.string_at(read.output, read.outputIdx) if read else b""


def code_128_texts(image: Any) -> list[str]:
    """The texts of every Code 128 in ``image``, as ZBar reads them."""
    from pyzbar.pyzbar import ZBarSymbol
    from pyzbar.pyzbar import decode as zbar_decode

    return [one.data.decode("ascii") for one in zbar_decode(image, symbols=[ZBarSymbol.CODE128])]


def _enlarged(image: Any) -> Any:
    size = (image.width * ENLARGED, image.height * ENLARGED)
    return image.resize(size, Image.Resampling.NEAREST).convert("RGB")
