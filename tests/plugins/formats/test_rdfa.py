"""RDFa of pages, held against the examples that the W3C prints; and recipes marked so.

Source of the examples: RDFa Lite 1.1 (W3C Recommendation), section 2, as reprinted; RDFa Core 1.1, 7.5 "Sequence", and
HTML+RDFa 1.1, from memory; the working group's own playground (rdfa.info). Of the recipe: schema.org, type Recipe, its
own example in RDFa.
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
from stillroom.plugins.formats.rdfa import Linked


def things(text: str) -> list[Any]:
    """Everything that has a type, without what it has not, texts without white space at their ends."""
    return [_bare(one) for one in Linked(Page(text)).items(lambda types: True)]


def _bare(thing: dict[str, Any]) -> dict[str, Any]:
    said = {name: [_bare(x) if isinstance(x, dict) else " ".join(x.split()) for x in values]
            for name, values in thing.items() if not name.startswith("@")}  # fmt: skip
    return {**said, **{name: thing[name] for name in ("@type", "@id") if thing[name]}}


MANU = {"name": ["Manu Sporny"], "telephone": ["1-800-555-0199"]}
SAID = (
    'My name is <span property="name">Manu Sporny</span> and you can give me a ring via'
    ' <span property="telephone">1-800-555-0199</span>'
)
IMAGE = '<img property="image" src="http://manu.sporny.org/images/manu.png" />'
OV = "http://open.vocab.org/terms/preferredAnimal"

LITE: dict[str, tuple[str, list[dict[str, Any]]]] = {
    "vocab, typeof and property": (
        f'<p vocab="http://schema.org/" typeof="Person">{SAID} or visit'
        ' <a property="url" href="http://manu.sporny.org/">my homepage</a>.</p>',
        [{**MANU, "url": ["http://manu.sporny.org/"], "@type": ["Person"]}],
    ),
    "resource": (
        f'<p vocab="http://schema.org/" resource="#manu" typeof="Person">{SAID}. {IMAGE}</p>',
        [{**MANU, "image": ["http://manu.sporny.org/images/manu.png"], "@type": ["Person"], "@id": "#manu"}],
    ),
    "prefix": (
        '<p vocab="http://schema.org/" prefix="ov: http://open.vocab.org/terms/" resource="#manu" typeof="Person">'
        f'{SAID}. {IMAGE} My favorite animal is the <span property="ov:preferredAnimal">Liger</span>.</p>',
        [{**MANU, "image": ["http://manu.sporny.org/images/manu.png"], OV: ["Liger"], "@type": ["Person"],
          "@id": "#manu"}],
    ),
    "the playground's person": (
        '<div vocab="http://schema.org/" typeof="Person"> <a property="image"'
        ' href="http://manu.sporny.org/images/manu.png"> <span property="name">Manu Sporny</span></a>,'
        ' <span property="jobTitle">Founder/CEO</span> <div> Phone: <span property="telephone">(540) 961-4469</span>'
        ' </div> <div> E-mail: <a property="email" href="mailto:msporny@digitalbazaar.com">'
        "msporny@digitalbazaar.com</a> </div></div>",
        [{"image": ["http://manu.sporny.org/images/manu.png"], "name": ["Manu Sporny"], "jobTitle": ["Founder/CEO"],
          "telephone": ["(540) 961-4469"], "email": ["mailto:msporny@digitalbazaar.com"], "@type": ["Person"]}],
    ),
    "the playground's friends": (
        '<div vocab="http://xmlns.com/foaf/0.1/"> <div resource="#manu" typeof="Person"> <span property="name">Manu'
        ' Sporny</span> knows <a property="knows" href="#alex">Alex</a> and <a property="knows" href="#brian">'
        'Brian</a>. </div> <div resource="#alex" typeof="Person"> <span property="name">Alex Milowski</span> wrote'
        " the RDFa processor for this page. </div></div>",
        [{"http://xmlns.com/foaf/0.1/name": ["Manu Sporny"],
          "http://xmlns.com/foaf/0.1/knows": [
              {"http://xmlns.com/foaf/0.1/name": ["Alex Milowski"], "@type": ["http://xmlns.com/foaf/0.1/Person"],
               "@id": "#alex"}, "#brian"],
          "@type": ["http://xmlns.com/foaf/0.1/Person"], "@id": "#manu"},
         {"http://xmlns.com/foaf/0.1/name": ["Alex Milowski"], "@type": ["http://xmlns.com/foaf/0.1/Person"],
          "@id": "#alex"}],
    ),
}  # fmt: skip


@pytest.mark.parametrize("example", LITE)
def test_the_recommendations_examples_come_to_what_it_says(example: str) -> None:
    text, said = LITE[example]
    assert things(text) == said


VOCAB = "vocab=https://schema.org/"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"<div {VOCAB} typeof='Recipe NewsArticle'></div>", [{"@type": ["Recipe", "NewsArticle"]}]),
        ("<div typeof=schema:Recipe><b property=schema:name>Pie</b></div>", [{"name": ["Pie"], "@type": ["Recipe"]}]),
        ("<div typeof=http://schema.org/Recipe><b property=https://schema.org/name>Pie</b></div>",
         [{"name": ["Pie"], "@type": ["Recipe"]}]),
        ("<div prefix='s: http://schema.org/' typeof=s:Recipe><b property='S:name s:headline'>Pie</b></div>",
         [{"name": ["Pie"], "headline": ["Pie"], "@type": ["Recipe"]}]),
        ("<div typeof=Recipe><b property=name>Pie</b></div>", [{}]),  # words of no vocabulary say nothing
        (f"<div {VOCAB} typeof=Recipe><p vocab=''><b property=name>Pie</b></p></div>", [{"@type": ["Recipe"]}]),
        (f"<div {VOCAB} typeof=Recipe><b property=name content=Pie>Cake</b></div>",
         [{"name": ["Pie"], "@type": ["Recipe"]}]),
        # with its text in `content`, the address is what is spoken of (RDFa Core 7.5, step 5.2, from memory)
        (f"<div {VOCAB} typeof=Recipe><p property=x content=Pie href=#u><b property=y>Z</b></p></div>",
         [{"@type": ["Recipe"]}]),
        (f"<div {VOCAB} typeof=Recipe><a property=x resource=#r href=u>Z</a></div>",
         [{"@type": ["Recipe"], "x": ["#r"]}]),
        (f"<div {VOCAB} typeof=Recipe><time property=x datetime=PT15M>15 minutes</time></div>",
         [{"x": ["PT15M"], "@type": ["Recipe"]}]),
        (f"<div {VOCAB} typeof=Recipe><link property=x href=a><img property=x src=b></div>",
         [{"x": ["a", "b"], "@type": ["Recipe"]}]),
        (f"<div {VOCAB} typeof=Recipe><p property=x typeof=Thing><b property=y>1</b></p><b property=y>2</b></div>",
         [{"x": [{"y": ["1"], "@type": ["Thing"]}], "y": ["2"], "@type": ["Recipe"]},
          {"y": ["1"], "@type": ["Thing"]}]),
        (f"<div {VOCAB} typeof=Recipe resource=#r></div><p {VOCAB} resource=#r><b property=y>2</b></p>",
         [{"y": ["2"], "@type": ["Recipe"], "@id": "#r"}]),  # more of it elsewhere
        (f"<div {VOCAB} typeof=Recipe><a href=u><b property=y>1</b></a></div>", [{"@type": ["Recipe"]}]),  # of the link
        (f"<body {VOCAB} typeof=Recipe><b property=y>1</b>", [{"y": ["1"], "@type": ["Recipe"]}]),  # of the page
        (f"<div {VOCAB} typeof=A resource=a><p property=x resource=b></p></div>"
         f"<div {VOCAB} typeof=B resource=b><p property=x resource=a></p></div>",
         [{"x": [{"x": [], "@type": ["B"], "@id": "b"}], "@type": ["A"], "@id": "a"},
          {"x": [{"x": [], "@type": ["A"], "@id": "a"}], "@type": ["B"], "@id": "b"}]),  # never within itself
        (f"<svg {VOCAB} typeof=Recipe></svg>", []),
    ],
)  # fmt: skip
def test_what_the_sequence_says_beside_its_examples(text: str, said: list[Any]) -> None:
    """Whose a property is, and what its value is."""
    assert things(text) == said


BREAD = """<div vocab="https://schema.org/" typeof="Recipe">
  <span property="name">Mom's World Famous Banana Bread</span>
  By <span property="author">John Smith</span>,
  <meta property="datePublished" content="2009-05-08">May 8, 2009
  <img property="image" src="bananabread.jpg" alt="Banana bread on a plate" />
  Prep Time: <meta property="prepTime" content="PT15M">15 minutes
  Yield: <span property="recipeYield">1 loaf</span>
  Tags: <link property="suitableForDiet" href="https://schema.org/LowFatDiet" />Low fat
  <div property="nutrition" typeof="NutritionInformation">
    Nutrition facts: <span property="calories">240 calories</span>,
    <span property="fatContent">9 grams</span> fat
  </div>
  Ingredients:
  - <span property="recipeIngredient">3 or 4 ripe bananas, smashed</span>
  - <span property="recipeIngredient" typeof="PropertyValue"><span property="value">1</span>
    <span property="name">egg</span></span>
  - <span property="recipeIngredient">3/4 cup of sugar</span>
  Instructions:
  <span property="recipeInstructions">
  Preheat the oven to 350 degrees. Mix in the ingredients in a bowl. Add
  the flour last. Pour the mixture into a loaf pan and bake for one hour.
  </span>
  140 comments:
  <div property="interactionStatistic" typeof="InteractionCounter">
    <meta property="interactionType" content="https://schema.org/CommentAction" />
    <meta property="userInteractionCount" content="140" />
  </div>
</div>"""


def test_the_vocabularys_own_example_is_read(read_one: Callable[[str], object], bread: object) -> None:
    assert read_one(f"<body>{BREAD}</body>") == bread


STEPS = {
    "one element each": "<p property=recipeInstructions>Boil.</p><p property=recipeInstructions>Bake.</p>",
    "a list in one": "<ol property=recipeInstructions><li>Boil.</li><li>Bake.</li></ol>",
    "HowToStep": "".join(
        f"<div property=recipeInstructions typeof=HowToStep><b property=text>{s}</b></div>" for s in ("Boil.", "Bake.")
    ),
    "elsewhere on the page": "<link property=recipeInstructions href=#how><div resource=#how typeof=HowToSection>"
    "<p property=itemListElement>Boil.</p><p property=itemListElement>Bake.</p></div>",
}  # fmt: skip
PLACES = {
    "alone": "{}", "in an article": f"<article {VOCAB} typeof=Article>{{}}</article>",
    "a property of the page": f"<body {VOCAB} typeof=WebPage><div property=mainEntity {{}}</body>",
    "beside data without a recipe": '<script type="application/ld+json">{{"@type": "WebSite"}}</script>{}',
    "beside microdata without a recipe": "<p itemscope itemtype=https://schema.org/Person></p>{}",
}  # fmt: skip


@pytest.mark.parametrize("steps", STEPS)
@pytest.mark.parametrize("place", PLACES)
def test_every_way_to_mark_it_comes_to_the_same_recipe(
    read_one: Callable[[str], object], leek_pie: object, steps: str, place: str
) -> None:
    """Name, yield, lines and steps, whatever stands around it."""
    inner = (
        f"{VOCAB} typeof=Recipe resource=/pie><h1 property=name>Leek <i>pie</i></h1>"
        "<meta property=recipeYield content='4 servings'><ul><li property=recipeIngredient>1 kg leeks"
        f"<li property=recipeIngredient>2 tbsp butter, salted</ul>{STEPS[steps]}</div>"
    )
    text = PLACES[place].format(inner if "mainEntity" in PLACES[place] else f"<div {inner}")
    assert read_one(text) == leek_pie
    assert [found.source for found in recipes_of(f"<!doctype html><html>{text}</html>")] == ["/pie"]


def test_microdata_is_taken_before_it() -> None:
    """Where a page says it twice, it is read once."""
    both = f"<div itemscope itemtype=https://schema.org/Recipe><b itemprop=name>Marked</b></div>{BREAD}"
    assert [f.name for f in recipes_of(f"<html>{both}</html>")] == ["Marked"]


def test_a_recipe_of_another_vocabulary_is_none_of_schema_org() -> None:
    """Its properties have other names: an empty recipe would come of it."""
    other = "<div vocab=http://rdf.data-vocabulary.org/# typeof=Recipe><b property=name>Pie</b></div>"
    with pytest.raises(Refused, match="Found: RDFa of Recipe"):
        recipes_of(f"<html>{other}</html>")


HOSTILE = {
    "things in things": (f"<div {VOCAB} typeof=Recipe>" + "<div property=a typeof=x>" * 70, "nested 65 deep"),
    "texts in texts": (f"<div {VOCAB} typeof=Recipe>" + "<i property=a>" * 400 + "x " * 100_000, "more data than"),
    "doubled at each step": (
        f"<div {VOCAB}>" + "".join(
            f"<p typeof=Recipe resource=r{n}>" + f"<i property=a resource=r{n + 1}></i>" * 2 + "</p>"
            for n in range(60)), "more data than|nested"),
}  # fmt: skip


@pytest.mark.parametrize("kind", HOSTILE)
def test_things_that_would_grow_without_end_are_refused(kind: str) -> None:
    """References make much of little."""
    text, words = HOSTILE[kind]
    begun = time.process_time()
    with pytest.raises(Refused, match=words):
        recipes_of(f"<html>{text}")
    assert time.process_time() - begun < 10


PIECE = st.sampled_from([
    f"<div {VOCAB} typeof=Recipe>", "<p property=name>", "<li property=recipeIngredient>", "</div>", "</p>", "<td>",
    "<a href=u>", "</a>", "<b property=recipeInstructions typeof=HowToStep resource=u>",
    "<i property='text name' content=x>",
    "<u vocab='' prefix='a: b' property=a:c>", "<body typeof=schema:Recipe>", "x", "<", "&", "<svg>", "</svg>", "<br/>",
    "<p resource=u>", "<p resource='' property=schema:name>", '"', "'", " ",
])  # fmt: skip


@given(st.lists(PIECE, max_size=40).map("".join))
def test_no_markup_makes_it_fail(texts_of: Callable[[str], list[str]], text: str) -> None:
    """Whatever stands where: plain texts come of it, or a refusal in words."""
    assert all(said.isprintable() for said in texts_of(text))
