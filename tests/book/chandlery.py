"""The cover materials of an invented chandler's shop. Nothing here is a published figure."""

from matref.book.structures.parts import Cover, Layer

COVER = Cover(
    cloth=Layer("sailcloth", 0.4),
    interfacing=Layer("fusible fleece", 0.2),
    card=Layer("card", 0.3),
    board=Layer("greyboard", 2.0),
    paper=Layer("chart paper", 0.12),
    endpaper=Layer("ledger leaf", 0.12),
    mull=Layer("mull", 0.2),
    lining=Layer("kraft paper", 0.1),
)
