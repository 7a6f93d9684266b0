"""The flowing pieces of the page library, under our name: no other room imports that library."""

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import CondPageBreak, Flowable, PageBreak, Paragraph, Spacer

__all__ = ["Canvas", "CondPageBreak", "Flowable", "ImageReader", "PageBreak", "Paragraph", "Spacer"]
