"""Microdata of pages, held against the examples that the HTML Standard prints; and recipes marked so.

Source of the examples: HTML Standard (WHATWG), section 5 "Microdata", read as W3C's HTML Microdata prints them (4.2 to
4.4, 5.2 to 5.6). Of the recipe: schema.org, type Recipe, its own example in microdata.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.formats.bounds import Refused
from stillroom.plugins.formats.bring import recipes_of
from stillroom.plugins.formats.elements import Page
from stillroom.plugins.formats.microdata import Marked


def items(text: str) -> list[Any]:
    """Properties of the items that are no property of another; types where there are any."""
    marked = Marked(Page(text))
    whole = dict(zip(marked.at, marked.items(lambda types: True), strict=True))
    return [_bare(item) for at, item in whole.items() if "itemprop" not in marked.elements[at].attributes]


def _bare(item: dict[str, Any]) -> dict[str, Any]:
    """An item without what it has not, its texts without white space at their ends."""
    said = {name: [_bare(x) if isinstance(x, dict) else x.strip() for x in values]
            for name, values in item.items() if not name.startswith("@")}  # fmt: skip
    return {**said, **{name: item[name] for name in ("@type", "@id") if item[name]}}


EXAMPLES: dict[str, tuple[str, list[dict[str, Any]]]] = {
    "two items": (
        '<div itemscope> <p>My name is <span itemprop="name">Elizabeth</span>.</p> </div>'
        '<div itemscope> <p>My name is <span itemprop="name">Daniel</span>.</p> </div>',
        [{"name": ["Elizabeth"]}, {"name": ["Daniel"]}],
    ),
    "markup without microdata has no effect": (
        '<div itemscope> <p>My <em>name</em> is <span itemprop="name">E<strong>liz</strong>abeth</span>.</p> </div>'
        "<section> <div itemscope> <aside> <p>My name is"
        ' <span itemprop="name"><a href="/?user=daniel">Daniel</a></span>.</p> </aside> </div> </section>',
        [{"name": ["Elizabeth"]}, {"name": ["Daniel"]}],
    ),
    "three properties": (
        '<div itemscope> <p>My name is <span itemprop="name">Neil</span>.</p>'
        ' <p>My band is called <span itemprop="band">Four Parts Water</span>.</p>'
        ' <p>I am <span itemprop="nationality">British</span>.</p></div>',
        [{"name": ["Neil"], "band": ["Four Parts Water"], "nationality": ["British"]}],
    ),
    "an address": (
        '<div itemscope> <img itemprop="image" src="google-logo.png" alt="Google"></div>',
        [{"image": ["google-logo.png"]}],
    ),
    "data": (
        '<h1 itemscope> <data itemprop="product-id" value="9678AOU879">The Instigator 2000</data></h1>',
        [{"product-id": ["9678AOU879"]}],
    ),
    "meter, and an item within": (
        '<div itemscope itemtype="http://schema.org/Product"> <span itemprop="name">Panasonic White 60L Refrigerator'
        '</span> <img src="panasonic-fridge-60l-white.jpg" alt=""> <div itemprop="aggregateRating" itemscope'
        ' itemtype="http://schema.org/AggregateRating"> <meter itemprop="ratingValue" min=0 value=3.5 max=5>Rated'
        ' 3.5/5</meter> (based on <span itemprop="reviewCount">11</span> customer reviews) </div></div>',
        [{"name": ["Panasonic White 60L Refrigerator"],
          "aggregateRating": [{"ratingValue": ["3.5"], "reviewCount": ["11"],
                               "@type": ["http://schema.org/AggregateRating"]}],
          "@type": ["http://schema.org/Product"]}],
    ),
    "time": (
        '<div itemscope> I was born on <time itemprop="birthday" datetime="2009-05-10">May 10th 2009</time>.</div>',
        [{"birthday": ["2009-05-10"]}],
    ),
    "an item within another": (
        '<div itemscope> <p>Name: <span itemprop="name">Amanda</span></p> <p>Band: <span itemprop="band" itemscope>'
        ' <span itemprop="name">Jazz Band</span> (<span itemprop="size">12</span> players)</span></p></div>',
        [{"name": ["Amanda"], "band": [{"name": ["Jazz Band"], "size": ["12"]}]}],
    ),
    "the same, its properties elsewhere": (
        '<div itemscope id="amanda" itemref="a b"></div> <p id="a">Name: <span itemprop="name">Amanda</span></p>'
        '<div id="b" itemprop="band" itemscope itemref="c"></div> <div id="c"> <p>Band: <span itemprop="name">Jazz'
        ' Band</span></p> <p>Size: <span itemprop="size">12</span> players</p></div>',
        [{"name": ["Amanda"], "band": [{"name": ["Jazz Band"], "size": ["12"]}]}],
    ),
    "one name, two values": (
        '<div itemscope> <p>Flavors in my favorite ice cream:</p> <ul> <li itemprop="flavor">Lemon sorbet</li>'
        ' <li itemprop="flavor">Apricot sorbet</li> </ul></div>',
        [{"flavor": ["Lemon sorbet", "Apricot sorbet"]}],
    ),
    "two names, one value": (
        '<div itemscope> <span itemprop="favorite-color favorite-fruit">orange</span></div>',
        [{"favorite-color": ["orange"], "favorite-fruit": ["orange"]}],
    ),
    "meta": (
        '<span itemscope><meta itemprop="name" content="The Castle"></span> <figure> <img src="castle.jpeg">'
        " <figcaption>The Castle (1986)</figcaption></figure>",
        [{"name": ["The Castle"]}],
    ),
    "a type": (
        '<section itemscope itemtype="http://example.org/animals#cat"> <h1 itemprop="name">Hedral</h1>'
        ' <p itemprop="desc">Hedral is a male american domestic\n shorthair, with a fluffy black fur with white paws'
        ' and belly.</p> <img itemprop="img" src="hedral.jpeg" alt="" title="Hedral, age 18 months"></section>',
        [{"name": ["Hedral"], "desc": ["Hedral is a male american domestic shorthair, with a fluffy black fur with"
                                       " white paws and belly."],
          "img": ["hedral.jpeg"], "@type": ["http://example.org/animals#cat"]}],
    ),
    "an identifier, and end tags left out": (
        '<dl itemscope itemtype="http://vocab.example.net/book" itemid="urn:isbn:0-330-34032-8"> <dt>Title'
        ' <dd itemprop="title">The Reality Dysfunction <dt>Author <dd itemprop="author">Peter F. Hamilton'
        ' <dt>Publication date <dd><time itemprop="pubdate" datetime="1996-01-26">26 January 1996</time></dl>',
        [{"title": ["The Reality Dysfunction"], "author": ["Peter F. Hamilton"], "pubdate": ["1996-01-26"],
          "@type": ["http://vocab.example.net/book"], "@id": "urn:isbn:0-330-34032-8"}],
    ),
    "two types": (
        '<dl itemscope itemtype="http://md.example.com/track\n http://md.example.com/lighting"> <dt>Name:'
        ' <dd itemprop="name">Turnout Lantern Kit <dt>Product code: <dd itemprop="product-code">74470 <dt>Purpose:'
        ' <dd>For retrofitting 2 <span itemprop="track-type">C</span> Track turnouts.'
        ' <meta itemprop="scale" content="HO"></dl>',
        [{"name": ["Turnout Lantern Kit"], "product-code": ["74470"], "track-type": ["C"], "scale": ["HO"],
          "@type": ["http://md.example.com/track", "http://md.example.com/lighting"]}],
    ),
    "values in the order of the page": (
        '<div id="x"> <p itemprop="a">1</p> </div> <div itemscope itemref="x"> <p itemprop="b">test</p>'
        ' <p itemprop="a">2</p></div>',
        [{"a": ["1", "2"], "b": ["test"]}],
    ),
    "one property of two items": (
        '<figure itemscope itemtype="http://n.whatwg.org/work" itemref="licenses"> <img itemprop="work"'
        ' src="images/house.jpeg" alt=""> <figcaption itemprop="title">The house I found.</figcaption></figure>'
        '<figure itemscope itemtype="http://n.whatwg.org/work" itemref="licenses"> <img itemprop="work"'
        ' src="images/mailbox.jpeg" alt=""> <figcaption itemprop="title">The mailbox.</figcaption></figure>'
        '<footer> <p id="licenses">All images licensed under the <a itemprop="license"'
        ' href="http://www.opensource.org/licenses/mit-license.php">MIT license</a>.</p></footer>',
        [{"work": [f"images/{picture}.jpeg"], "title": [title],
          "license": ["http://www.opensource.org/licenses/mit-license.php"], "@type": ["http://n.whatwg.org/work"]}
         for picture, title in (("house", "The house I found."), ("mailbox", "The mailbox."))],
    ),
    "only elements of HTML": ("<p itemscope></p> <svg itemscope></svg>", [{}]),
}  # fmt: skip


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_standards_examples_come_to_what_it_says(example: str) -> None:
    text, said = EXAMPLES[example]
    assert items(text) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("<div itemscope itemref='z'><p itemprop=a>1</p></div>", [{"a": ["1"]}]),  # an id that nothing has
        ("<div itemscope><a itemprop=a>no address</a><meter itemprop=b></meter></div>", [{"a": [""], "b": [""]}]),
        ("<div itemscope><time itemprop=a>9 May</time></div>", [{"a": ["9 May"]}]),
        ("<div itemscope><p itemprop='a a'>1</p></div>", [{"a": ["1"]}]),  # a name counts once
        ("<div itemscope><p itemprop=' '>1</p></div>", [{}]),
        ("<div itemscope id=x itemref=x><p itemprop=a>1</p></div>", [{"a": ["1"]}]),  # it refers to itself
        ("<div itemscope itemref='x x'></div><p id=x itemprop=a>1</p><p id=x itemprop=a>2</p>", [{"a": ["1"]}]),
        ("<p itemprop=a>1</p><div itemscope></div>", [{}]),  # whose it is nobody says
        ("<div itemscope itemref=y></div><div id=y itemprop=a itemscope itemref=y></div>", [{"a": [{}]}]),
    ],
)
def test_what_the_algorithm_says_beside_its_examples(text: str, said: list[Any]) -> None:
    """5.5 "Associating names with items": each element once, no item within itself."""
    assert items(text) == said


@pytest.mark.parametrize(
    ("within", "values"),
    [
        ("<ul><li itemprop=a>1<li itemprop=a>2</ul>", ["1", "2"]),
        ("<ul><li itemprop=a><p>1<p>2<li itemprop=a>3</ul>", ["1\n\n2", "3"]),
        ("<ul><li itemprop=a>1<ul><li>2<li>3</ul><li itemprop=a>4</ul>", ["1\n\n2\n\n3", "4"]),
        ("<table><tr><td itemprop=a>1<td itemprop=a>2<tr><td itemprop=a>3</table>", ["1", "2", "3"]),
        ("<table><tr><td itemprop=a>1</div></p>2</table>", ["12"]),  # an end tag that closes nothing in its cell
        ("<p itemprop=a>1<div itemprop=a>2</div>", ["1", "2"]),
        ("<span itemprop=a>1<p>2</span>3</p>", ["1\n23"]),  # the end of a span within a paragraph
        ("<b itemprop=a>1</i></em>2</b>3", ["12"]),
        ("<div itemprop=a>1<br>2<br/>3</div>", ["1\n2\n3"]),
        ("<div itemprop=a>1<script>2</script><style>3</style><template>4<b>5</b></template>6</div>", ["16"]),
        ("<div itemprop=a>1<!-- <p itemprop=a>2</p> -->3</div>", ["13"]),
        ("<div itemprop=a>1<svg><path d=x /><g></svg>2</div>", ["12"]),
        ("<svg><g><p itemprop=a>1</p>", ["1"]),  # a paragraph is no drawing
        ("<div itemprop=a>1 &amp; 2 &lt;b&gt;</div>", ["1 & 2 <b>"]),
        ("<div ITEMPROP=a>1</div><DIV itemprop=A itemprop=a>2</DIV>", ["1"]),  # names of properties have a case
    ],
)
def test_a_text_stands_in_the_element_that_a_browser_puts_it_in(within: str, values: list[str]) -> None:
    """End tags left out or astray; what nobody reads on the page is no text."""
    (found,) = items(f"<div itemscope>{within}</div>")
    assert [value.replace(" ", "") if "b>" not in value else value for value in found["a"]] == values


BREAD = """<div itemscope itemtype="https://schema.org/Recipe">
  <span itemprop="name">Mom's World Famous Banana Bread</span>
  By <span itemprop="author">John Smith</span>,
  <meta itemprop="datePublished" content="2009-05-08">May 8, 2009
  <img itemprop="image" src="bananabread.jpg" alt="Banana bread on a plate" />
  Prep Time: <meta itemprop="prepTime" content="PT15M">15 minutes
  Yield: <span itemprop="recipeYield">1 loaf</span>
  Tags: <link itemprop="suitableForDiet" href="https://schema.org/LowFatDiet" />Low fat
  <div itemprop="nutrition" itemscope itemtype="https://schema.org/NutritionInformation">
    Nutrition facts: <span itemprop="calories">240 calories</span>,
  </div>
  Ingredients:
  - <span itemprop="recipeIngredient">3 or 4 ripe bananas, smashed</span>
  - <span itemprop="recipeIngredient" itemscope itemtype="https://schema.org/PropertyValue">
      <span itemprop="value">1</span> <span itemprop="name">egg</span></span>
  - <span itemprop="recipeIngredient">3/4 cup of sugar</span>
  Instructions:
  <span itemprop="recipeInstructions">
  Preheat the oven to 350 degrees. Mix in the ingredients in a bowl. Add
  the flour last. Pour the mixture into a loaf pan and bake for one hour.
  </span>
</div>"""


def test_the_vocabularys_own_example_is_read(read_one: Callable[[str], object], bread: object) -> None:
    assert read_one(f"<body>{BREAD}</body>") == bread


LINES = "<li itemprop=recipeIngredient>1 kg leeks<li itemprop=recipeIngredient>2 tbsp butter, salted"
STEPS = {
    "one element each": "<p itemprop=recipeInstructions>Boil.</p><p itemprop=recipeInstructions>Bake.</p>",
    "a list in one": "<ol itemprop=recipeInstructions><li>Boil.</li><li>Bake.</li></ol>",
    "breaks": "<div itemprop=recipeInstructions>Boil.<br>Bake.</div>",
    "HowToStep": "".join(
        f"<div itemprop=recipeInstructions itemscope itemtype=schema.org/HowToStep><b itemprop=text>{s}</b></div>"
        for s in ("Boil.", "Bake.")
    ),
    "HowToSection of a list": "<div itemprop=recipeInstructions itemscope itemtype=https://schema.org/HowToSection>"
    "<div itemprop=itemListElement itemscope itemtype=https://schema.org/HowToStep><meta itemprop=text content=Boil.>"
    "</div><div itemprop=itemListElement itemscope><span itemprop=text>Bake.</span></div></div>",
}  # fmt: skip
PLACES = {
    "alone": "{}", "in an article": "<article itemscope itemtype=https://schema.org/Article>{}</article>",
    "as a page's main thing": "<body itemscope itemtype=http://schema.org/WebPage><div itemprop=mainEntity {}</body>",
    "beside data without a recipe": '<script type="application/ld+json">{{"@type": "WebSite"}}</script>{}',
    "beside broken data": '<script type="application/ld+json">{{"@type": </script>{}',
}  # fmt: skip


@pytest.mark.parametrize("steps", STEPS)
@pytest.mark.parametrize("place", PLACES)
def test_every_way_to_mark_it_comes_to_the_same_recipe(
    read_one: Callable[[str], object], leek_pie: object, steps: str, place: str
) -> None:
    """Name, yield, lines and steps, whatever stands around it."""
    inner = (
        f"itemscope itemtype='http://schema.org/Recipe'><h1 itemprop=name>Leek <i>pie</i></h1>"
        f"<meta itemprop=recipeYield content='4 servings'><ul>{LINES}</ul>{STEPS[steps]}</div>"
    )
    text = PLACES[place].format(inner if "mainEntity" in PLACES[place] else f"<div {inner}")
    assert read_one(text) == leek_pie


def test_where_both_are_there_the_data_is_taken_once() -> None:
    data = '<script type="application/ld+json">{"@type": "Recipe", "name": "As data"}</script>'
    assert [f.name for f in recipes_of(f"<html>{BREAD}{data}</html>")] == ["As data"]


NEITHER = "neither as data in a script (JSON-LD) nor as marks in its text (microdata, RDFa)"
LOOKED = (
    "It holds data, and no recipe among it. Looked for: a Recipe of schema.org, as JSON-LD, microdata or RDFa. Found: "
)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("<html><p>1 kg leeks</html>", NEITHER),
        ("<html><div itemscope itemtype=https://schema.org/WebPage></div></html>", f"{LOOKED}microdata of WebPage."),
        ("<html><div itemscope></div></html>", f"{LOOKED}microdata without a type."),
        ('<html><script type="application/ld+json">[{"@type": ["WebSite", "x:Shop"]}]</script>'
         "<p itemscope itemtype='http://schema.org/Person'></html>",
         f"{LOOKED}JSON-LD of WebSite, Shop; microdata of Person."),
        ('{"@type": "Person", "name": "Ann"}', f"{LOOKED}JSON-LD of Person."),
        ("<html><div vocab=https://schema.org/ typeof=Person><b property=name>Ann</b></div></html>",
         f"{LOOKED}RDFa of Person."),
        ("<html>" + "".join(f"<p itemscope itemtype=x/T{n}>" for n in range(9)), "T0, T1, T2, T3, T4, T5 and 3 more."),
        ("<html><p itemscope itemtype='x/&lt;script&gt;alert(1)'></html>", f"{LOOKED}microdata of alert(1)."),
    ],
)  # fmt: skip
def test_a_page_without_a_recipe_is_told_what_was_looked_for_and_found(text: str, words: str) -> None:
    with pytest.raises(Refused) as caught:
        recipes_of(text)
    assert words in str(caught.value) and str(caught.value).endswith("Type the recipe in, or paste its lines.")


FULL = 1_500_000
RECIPE = "<div itemscope itemtype=x/Recipe>"
HOSTILE = {
    "elements without end": ("<b></b>", "more data than"), "paragraphs": ("<p>", "more data than"),
    "never closed": ("<div>", "nested 513 deep"), "tables in tables": ("<table><tr><td>", "nested 513 deep"),
    "lone marks": ("<", "more data than"), "comments": ("<!--", NEITHER), "declarations": ("<!", NEITHER),
    "marked sections": ("<![", NEITHER), "instructions": ("<?", NEITHER), "tags begun": ("<a ", NEITHER),
    "ends begun": ("</a ", NEITHER), "attributes": ("<a b='", NEITHER), "entities": ("&#", NEITHER),
    "scripts": ("<script>", NEITHER), "templates": ("<template>", NEITHER),
    "ends astray": ("</p>", NEITHER), "drawings": ("<svg><p>", "more data than"),
}  # fmt: skip


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_page_as_large_as_may_be_is_read_in_no_time(kind: str) -> None:
    """Each is a million characters and more of one thing; none of them is looked through twice."""
    piece, words = HOSTILE[kind]
    begun = time.process_time()
    with pytest.raises(Refused, match=words.replace("(", r"\(").replace(")", r"\)")):
        recipes_of("<b>" * 500 * (kind == "ends astray") + piece * (FULL // len(piece)))
    assert time.process_time() - begun < 10


ITEMS = {
    "items in items": (RECIPE + "<div itemprop=a itemscope>" * 70, "nested 65 deep"),
    "texts in texts": (RECIPE + "<i itemprop=a>" * 400 + "x " * 100_000, "more data than"),
    "each of all": ("<div id=a>" + "<i itemprop=x></i>" * 1000 + "</div>" + f"{RECIPE[:-1]} itemref=a></div>" * 1000,
                    "more data than"),
    "doubled at each step": (
        "".join(f"<div id={x}{n} itemprop=x itemscope itemtype=x/Recipe itemref='a{n + 1} b{n + 1}'></div>"
                for n in range(60) for x in "ab"), "more data than"),
}  # fmt: skip


@pytest.mark.parametrize("kind", ITEMS)
def test_items_that_would_grow_without_end_are_refused(kind: str) -> None:
    """References make much of little."""
    text, words = ITEMS[kind]
    begun = time.process_time()
    with pytest.raises(Refused, match=words):
        recipes_of(f"<html>{text}")
    assert time.process_time() - begun < 10


def test_items_that_hold_each_other_are_read_once() -> None:
    ring = (
        f"{RECIPE[:-1]} itemref=b></div><div id=b itemprop=recipeInstructions itemscope itemref=c></div>"
        "<div id=c itemprop=itemListElement itemscope itemref='b d'></div><b id=d itemprop=text>Boil.</b>"
    )
    (found,) = recipes_of(f"<html>{ring}")
    assert found.steps == ("Boil.",)


PIECE = st.sampled_from([
    "<div itemscope itemtype=x/Recipe>", "<p itemprop=name>", "<li itemprop=recipeIngredient>", "</div>", "</p>",
    "<td>", "<table>", "</table>", "<svg>", "</svg>", "<template>", "</template>", "</b>", "<br/>", "x", "<", "&",
    "<b itemprop='recipeInstructions' itemscope>", "<i id=a itemprop=text>",
    "<u itemscope itemref='a b' itemprop=itemListElement id=b>", "<!",
    "<![", "<?", "<script type=application/ld+json>", "</script>", '"', "'", " ", "\n",
])  # fmt: skip


@given(st.lists(PIECE, max_size=40).map("".join))
def test_no_markup_makes_it_fail(texts_of: Callable[[str], list[str]], text: str) -> None:
    """Whatever stands where: plain texts come of it, or a refusal in words."""
    assert all(said.isprintable() for said in texts_of(text))
