"""The colours of sheets and page, each in one place."""

from __future__ import annotations

INK = "#1f2933"
GREY = "#52606d"  # words of second rank
RULE = "#9aa5b1"
# The one accent, a deep plum: what needs action. Seven to one on white and darker in grey than every
# colour of a section (Source of the ratio: WCAG 2.2, success criterion 1.4.6).
ACCENT = "#86246b"
ACCENT_ON_DARK = "#eda3d6"  # the same hue where the page is dark

# Source: Okabe and Ito, Color Universal Design, 2008; without black (the ink) and vermilion.
SECTIONS = ("#0072b2", "#e69f00", "#009e73", "#cc79a7", "#56b4e9", "#f0e442")
