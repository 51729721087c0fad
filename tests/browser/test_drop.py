"""A model dropped on a job is measured at once; dropping anything else changes nothing."""

from __future__ import annotations

from playwright.sync_api import Page, expect

TETRAHEDRON = """solid corner
facet normal 0 0 -1
outer loop
vertex 0 0 0
vertex 0 10 0
vertex 10 0 0
endloop
endfacet
facet normal 0 -1 0
outer loop
vertex 0 0 0
vertex 10 0 0
vertex 0 0 10
endloop
endfacet
facet normal -1 0 0
outer loop
vertex 0 0 0
vertex 0 0 10
vertex 0 10 0
endloop
endfacet
facet normal 1 1 1
outer loop
vertex 10 0 0
vertex 0 10 0
vertex 0 0 10
endloop
endfacet
endsolid corner
"""

DROP = """(form, files) => {
  const data = new DataTransfer();
  for (const [name, text] of files) data.items.add(new File([text], name));
  form.dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
}"""


def test_a_model_dropped_on_a_job_gives_it_a_picture_and_its_measures(page: Page) -> None:
    page.goto("/jobs/J103")
    form = page.locator("form[data-drop-file]")
    form.evaluate(DROP, [["a.stl", TETRAHEDRON], ["b.stl", TETRAHEDRON]])
    assert page.url.endswith("/jobs/J103")
    form.evaluate(DROP, [["corner.stl", TETRAHEDRON]])
    page.wait_for_url("**/models/*")
    expect(page.get_by_text("corner", exact=False).first).to_be_visible()
    page.goto("/jobs/J103")
    expect(page.get_by_role("img", name="The piece, seen from the front right")).to_be_visible()
