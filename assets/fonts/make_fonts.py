"""Makes the two embedded fonts from their sources: tabular figures by default,
the characters the program needs, and a name of their own.

    pip install fonttools
    python3 make_fonts.py Medium.ttf Bold.ttf Wide.ttf

The first two sources are the Medium and the Bold file of the project named first in
LICENSE.txt, the third is the Regular file of the project named second; it serves names
in other alphabets. A toolkit that cannot switch OpenType features shows a font's
default figures, which are proportional there; so the tabular ones are made the
default. The licence allows that, and the result bears another name.
"""

import sys

from fontTools import subset
from fontTools.ttLib import TTFont

NAME = "Bay Sans"
# Latin with its accents, punctuation, a few signs of measure and arrows.
RANGES = [(0x20, 0x7E), (0xA0, 0x17F), (0x218, 0x21B), (0x1E9E, 0x1E9E), (0x2009, 0x2009),
          (0x2010, 0x2027), (0x202F, 0x202F), (0x2030, 0x203A), (0x20AC, 0x20AC),
          (0x2202, 0x2265)]
# For the fallback: more Latin, Greek, Cyrillic, and a sign for what is missing still.
WIDE_RANGES = [(0x20, 0x7E), (0xA0, 0x24F), (0x2BB, 0x2DD), (0x300, 0x30C), (0x370, 0x3FF),
               (0x400, 0x4FF), (0x1E00, 0x1EFF), (0x2000, 0x206F), (0x20A0, 0x20BF), (0xFFFD, 0xFFFD)]


def freeze_tabular_figures(font):
    """Points the digits' code points at the glyphs that `tnum` would choose."""
    gsub = font["GSUB"].table
    swap = {}
    for record in gsub.FeatureList.FeatureRecord:
        if record.FeatureTag == "tnum":
            for index in record.Feature.LookupListIndex:
                for table in gsub.LookupList.Lookup[index].SubTable:
                    table = getattr(table, "ExtSubTable", table)
                    swap.update(table.mapping)
    for table in font["cmap"].tables:
        for code in range(ord("0"), ord("9") + 1):
            if code in table.cmap:
                table.cmap[code] = swap.get(table.cmap[code], table.cmap[code])


def rename(font, weight):
    """Gives the font a name of its own and keeps copyright and licence."""
    names = font["name"]
    for record in list(names.names):
        if record.nameID not in (0, 13, 14):
            names.removeNames(nameID=record.nameID)
    for ident, text in [(1, f"{NAME} {weight}"), (2, "Regular"), (3, f"{NAME} {weight} 1"),
                        (4, f"{NAME} {weight}"), (5, "Version 1.000"),
                        (6, f"{NAME.replace(' ', '')}-{weight}"), (16, NAME), (17, weight)]:
        names.setName(text, ident, 3, 1, 0x409)


def make(path, weight, ranges):
    font = TTFont(path)
    freeze_tabular_figures(font)
    options = subset.Options()
    options.layout_features = ["kern", "mark", "mkmk", "ccmp", "locl"]
    options.name_IDs = ["*"]
    options.hinting = False
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=[c for a, b in ranges for c in range(a, b + 1)])
    subsetter.subset(font)
    rename(font, weight)
    cmap, widths = font.getBestCmap(), font["hmtx"]
    digits = {widths[cmap[ord(c)]][0] for c in "0123456789"}
    assert len(digits) == 1, f"figures differ in width: {digits}"
    out = f"BaySans-{weight}.ttf"
    font.save(out)
    print(out, "figure width", digits, "glyphs", len(font.getGlyphOrder()))


if __name__ == "__main__":
    make(sys.argv[1], "Medium", RANGES)
    make(sys.argv[2], "Bold", RANGES)
    make(sys.argv[3], "Wide", WIDE_RANGES)
