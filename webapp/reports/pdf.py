"""Writing PDF (ISO 32000-1) page by page: what is finished leaves memory at once, however long the document.

Tagged (14.8): every text belongs to a structure element, or is marked as an artifact of the page. A general library
was tried first: it holds every page until the end and tags little more than headings.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import IO

from webapp.reports.canvas import MM, Canvas, Page, number
from webapp.reports.fonts import Face
from webapp.reports.pdf_objects import Objects

_PER_NODE = 64


def text_string(text: str) -> bytes:
    """A text string of the document (7.9.2.2): UTF-16 with its mark, in hexadecimal."""
    return b"<feff" + text.encode("utf-16-be").hex().encode() + b">"


@dataclass
class Element:
    """A structure element that is still open: its children are numbers of elements, or (page, marked content)."""

    number: int
    role: str
    parent: int
    kids: list[int | tuple[int, int] | str] = field(default_factory=list)
    attributes: str = ""


class Pdf(Canvas):
    """A document. Lengths are in mm from the top left corner, sizes of type in points."""

    def __init__(self, out: IO[bytes], *, title: str, made: datetime, identity: bytes, language: str = "en-US") -> None:
        self.objects = Objects(out)
        self.title, self.made, self.identity, self.language = title, made, identity, language
        self.faces = {"F1": Face("regular"), "F2": Face("bold")}
        self.fonts = {name: self.objects.reserve() for name in self.faces}
        self.total = self.objects.reserve()
        self.resources = self.objects.reserve()
        self.catalog, self.pages_root, self.tree = (self.objects.reserve() for _ in range(3))
        self.nodes: dict[bool, list[tuple[int, list[int]]]] = {True: [], False: []}
        self.parents: list[tuple[int, int]] = []
        self.next_parent = 0
        self.bookmarks: list[tuple[int, str, int, float]] = []
        self.document = self.objects.reserve()
        self.open: list[Element] = [Element(self.document, "Document", self.tree)]
        self.page: Page | None = None
        self.page_count = 0

    # Pages

    def begin_page(self, width: float, height: float, *, front: bool = False) -> Page:
        """Start a page; front pages come before all others, whenever they are drawn, and have Roman numbers."""
        self.end_page()
        self.page = Page(self.objects.reserve(), width, height, front)
        self.page_count += not front
        return self.page

    def end_page(self) -> None:
        """Write the page out and forget it."""
        page, self.page = self.page, None
        if page is None:
            return
        content = self.objects.stream("\n".join(page.content).encode("latin-1"))
        owners = self.objects.put("[" + " ".join(f"{one} 0 R" for one in page.owners) + "]")
        self.parents.append((self.next_parent, owners))
        links = f"/Annots[{' '.join(f'{one} 0 R' for one in page.links)}]" if page.links else ""
        resources = self._with(page.images) if page.images else f"{self.resources} 0 R"
        self.objects.put(
            f"<</Type/Page/Parent {self._node(page)} 0 R"
            f"/MediaBox[0 0 {number(page.width * MM)} {number(page.height * MM)}]"
            f"/Resources {resources}/Contents {content} 0 R/StructParents {self.next_parent}/Tabs/S{links}>>",
            page.number,
        )
        self.next_parent += 1

    def _with(self, images: list[int]) -> str:
        """The resources of a page: the document's own, and pictures that only this page has."""
        fonts = " ".join(f"/{name} {at} 0 R" for name, at in self.fonts.items())
        pictures = "".join(f"/P{at} {at} 0 R" for at in images)
        return f"<</Font<<{fonts}>>/XObject<</Total {self.total} 0 R{pictures}>>>>"

    def _node(self, page: Page) -> int:
        nodes = self.nodes[page.front]
        if not nodes or len(nodes[-1][1]) == _PER_NODE:
            nodes.append((self.objects.reserve(), []))
        nodes[-1][1].append(page.number)
        return nodes[-1][0]

    # Structure

    def add(self, role: str, attributes: str = "") -> Element:
        """An element inside the one that is open, to be closed with `close`."""
        element = Element(self.objects.reserve(), role, self.open[-1].number, attributes=attributes)
        self.open[-1].kids.append(element.number)
        return element

    def push(self, role: str, attributes: str = "") -> Element:
        """Open an element inside the one that is open."""
        element = self.add(role, attributes)
        self.open.append(element)
        return element

    def push_figure(self, alt: str, x: float, y: float, width: float, height: float) -> Element:
        """Open a drawing or picture in this rectangle: `alt` is what is read aloud in its place (14.9.3)."""
        top = self._drawn().height
        box = " ".join(number(one * MM) for one in (x, top - y - height, x + width, top - y))
        return self.push("Figure", f"/Alt{text_string(alt).decode()}/A<</O/Layout/BBox[{box}]>>")

    def pop(self) -> None:
        """Close the innermost element and write it."""
        self.close(self.open.pop())

    def close(self, element: Element) -> None:
        """Write an element that gets no more children."""
        kids = " ".join(
            one if isinstance(one, str) else f"{one} 0 R" if isinstance(one, int)
            else f"<</Type/MCR/Pg {one[0]} 0 R/MCID {one[1]}>>"
            for one in element.kids
        )  # fmt: skip
        self.objects.put(
            f"<</Type/StructElem/S/{element.role}/P {element.parent} 0 R/K[{kids}]{element.attributes}>>",
            element.number,
        )

    def begin_content(self, element: Element | None = None) -> None:
        """What is drawn until `end_content` belongs to this element, or to the open one."""
        page, owner = self._drawn(), element or self.open[-1]
        mark = len(page.owners)
        page.owners.append(owner.number)
        owner.kids.append((page.number, mark))
        page.content.append(f"/{owner.role} <</MCID {mark}>> BDC")

    def begin_artifact(self) -> None:
        """What is drawn until `end_content` is no content: rules, page numbers."""
        self._drawn().content.append("/Artifact BMC")

    def end_content(self) -> None:
        self._drawn().content.append("EMC")

    def bookmark(self, level: int, title: str, y: float) -> int:
        """An entry of the outline for this place. Returns its number."""
        page = self._drawn()
        self.bookmarks.append((level, title, page.number, (page.height - y) * MM))
        return len(self.bookmarks) - 1

    def link(self, x: float, y: float, width: float, height: float, bookmark: int) -> None:
        """A link to a bookmark's place, belonging to the open element."""
        page = self._drawn()
        _, title, target, top = self.bookmarks[bookmark]
        corners = (x, page.height - y - height, x + width, page.height - y)
        box = " ".join(number(value * MM) for value in corners)
        dest = f"/Dest[{target} 0 R/XYZ null {number(top)} null]/StructParent {self.next_parent}"
        head = f"<</Type/Annot/Subtype/Link/Rect[{box}]/Border[0 0 0]{dest}/Contents"
        own = self.objects.put(head.encode() + text_string(title) + b">>")
        self.parents.append((self.next_parent, self.open[-1].number))
        self.next_parent += 1
        self.open[-1].kids.append(f"<</Type/OBJR/Obj {own} 0 R/Pg {page.number} 0 R>>")
        page.links.append(own)

    # The end

    def finish(self) -> None:
        """Write everything that is known only now."""
        self.end_page()
        while self.open:
            self.pop()
        self._write_pages()
        self._write_tree()
        self._write_total()
        for name, face in self.faces.items():
            self._write_font(self.fonts[name], face)
        self.objects.put(self._with([]), self.resources)
        outline = self._write_outline()
        info = self._write_info()
        labels = "/PageLabels<</Nums[0<</S/D>>]>>"
        fronts = sum(len(kids) for _, kids in self.nodes[True])
        if fronts:
            labels = f"/PageLabels<</Nums[0<</S/r>>{fronts}<</S/D>>]>>"
        self.objects.put(
            b"<</Type/Catalog/Pages %d 0 R/StructTreeRoot %d 0 R/MarkInfo<</Marked true>>/Lang(%s)%s%s"
            b"/ViewerPreferences<</DisplayDocTitle true>>/Metadata %d 0 R>>"
            % (self.pages_root, self.tree, self.language.encode(), labels.encode(), outline, self._write_metadata()),
            self.catalog,
        )
        self.objects.finish(self.catalog, info, self.identity)

    def _write_pages(self) -> None:
        nodes = self.nodes[True] + self.nodes[False]
        for node, kids in nodes:
            refs = " ".join(f"{kid} 0 R" for kid in kids)
            self.objects.put(f"<</Type/Pages/Parent {self.pages_root} 0 R/Count {len(kids)}/Kids[{refs}]>>", node)
        refs = " ".join(f"{node} 0 R" for node, _ in nodes)
        count = sum(len(kids) for _, kids in nodes)
        self.objects.put(f"<</Type/Pages/Count {count}/Kids[{refs}]>>", self.pages_root)

    def _write_tree(self) -> None:
        """The structure's root, and the number tree from marked content back to its elements (14.7.4.4)."""
        self.parents.sort()
        leaves = []
        for start in range(0, len(self.parents), 256):
            rows = self.parents[start : start + 256]
            nums = " ".join(f"{key} {at} 0 R" for key, at in rows)
            leaves.append(self.objects.put(f"<</Limits[{rows[0][0]} {rows[-1][0]}]/Nums[{nums}]>>"))
        kids = " ".join(f"{leaf} 0 R" for leaf in leaves)
        parents = self.objects.put(f"<</Kids[{kids}]>>")
        self.objects.put(
            f"<</Type/StructTreeRoot/K {self.document} 0 R/ParentTree {parents} 0 R"
            f"/ParentTreeNextKey {self.next_parent}>>",
            self.tree,
        )

    def _write_total(self) -> None:
        text = self.faces["F1"].encode(str(self.page_count))
        about = b"/Type/XObject/Subtype/Form/BBox[0 -4 60 12]/Resources<</Font<</F1 %d 0 R>>>>" % self.fonts["F1"]
        self.objects.stream(f"0.35 g BT /F1 8 Tf 0 0 Td {text} Tj ET".encode(), about, self.total)

    def _write_font(self, at: int, face: Face) -> None:
        if not face.used:
            face.encode(" ")
        name, about = face.tagged_name(), face.metrics
        data = face.subset()
        file = self.objects.stream(data, b"/Length1 %d" % len(data))
        box = " ".join(map(str, about.box))
        descriptor = self.objects.put(
            f"<</Type/FontDescriptor/FontName/{name}/Flags 32/FontBBox[{box}]/ItalicAngle 0/Ascent {about.ascent}"
            f"/Descent {about.descent}/CapHeight {about.cap_height}/StemV {140 if face.style == 'bold' else 80}"
            f"/FontFile2 {file} 0 R>>"
        )
        used = sorted(face.used)
        widths = " ".join(f"{glyph}[{about.widths[glyph]}]" for glyph in used)
        inner = self.objects.put(
            f"<</Type/Font/Subtype/CIDFontType2/BaseFont/{name}/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)"
            f"/Supplement 0>>/FontDescriptor {descriptor} 0 R/DW 500/W[{widths}]/CIDToGIDMap/Identity>>"
        )
        letters = self.objects.stream(_to_unicode(face).encode())
        self.objects.put(
            f"<</Type/Font/Subtype/Type0/BaseFont/{name}/Encoding/Identity-H/DescendantFonts[{inner} 0 R]"
            f"/ToUnicode {letters} 0 R>>",
            at,
        )

    def _write_outline(self) -> bytes:
        """The bookmarks as a two-level outline (12.3.3)."""
        if not self.bookmarks:
            return b""
        root = self.objects.reserve()
        numbers = [self.objects.reserve() for _ in self.bookmarks]
        tops = [n for n, row in enumerate(self.bookmarks) if row[0] == 1]
        for n, (level, title, page, top) in enumerate(self.bookmarks):
            above = max(t for t in tops if t <= n)
            after = min((t for t in tops if t > n), default=len(self.bookmarks))
            inner = range(above + 1, after)
            beside = tops if level == 1 else list(inner)
            place = beside.index(n)
            row = f"<</Parent {root if level == 1 else numbers[above]} 0 R"
            row += f"/Dest[{page} 0 R/XYZ null {number(top)} null]"
            row += f"/Prev {numbers[beside[place - 1]]} 0 R" if place else ""
            row += f"/Next {numbers[beside[place + 1]]} 0 R" if place + 1 < len(beside) else ""
            if level == 1 and inner:
                row += f"/First {numbers[inner[0]]} 0 R/Last {numbers[inner[-1]]} 0 R/Count {-len(inner)}"
            self.objects.put(row.encode() + b"/Title" + text_string(title) + b">>", numbers[n])
        first, last = numbers[tops[0]], numbers[tops[-1]]
        self.objects.put(f"<</Type/Outlines/First {first} 0 R/Last {last} 0 R/Count {len(tops)}>>", root)
        return b"/Outlines %d 0 R/PageMode/UseOutlines" % root

    def _write_info(self) -> int:
        made = self.made.strftime("D:%Y%m%d%H%M%SZ")
        return self.objects.put(
            b"<</Title" + text_string(self.title) + b"/Creator(Wayround)/Producer(Wayround)"
            + f"/CreationDate({made})>>".encode()
        )  # fmt: skip

    def _write_metadata(self) -> int:
        """Title and language once more as XMP (14.3.2), where readers look first."""
        title = self.title.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        made = self.made.strftime("%Y-%m-%dT%H:%M:%SZ")
        packet = (
            '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">'
            '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=""'
            ' xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/">'
            f'<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>'
            f"<dc:language><rdf:Bag><rdf:li>{self.language}</rdf:li></rdf:Bag></dc:language>"
            f"<xmp:CreateDate>{made}</xmp:CreateDate></rdf:Description></rdf:RDF></x:xmpmeta>"
            '<?xpacket end="r"?>'
        )
        return self.objects.stream(packet.encode(), b"/Type/Metadata/Subtype/XML")


def _to_unicode(face: Face) -> str:
    """The map from glyphs back to letters (9.10.3), by which the text can be searched and read aloud."""
    rows = [f"<{glyph:04x}> <{letter.encode('utf-16-be').hex()}>" for glyph, letter in sorted(face.used.items())]
    blocks = [rows[start : start + 100] for start in range(0, len(rows), 100)]
    maps = "\n".join(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks)
    return (
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n"
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def\n"
        f"1 begincodespacerange <0000> <ffff> endcodespacerange\n{maps}\n"
        "endcmap CMapName currentdict /CMap defineresource pop end end\n"
    )
