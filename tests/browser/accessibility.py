"""What axe-core finds wrong in what the course puts on an open page."""

from axe_playwright_python.sync_playwright import Axe

# what lessons put on a page of JupyterLab, and of a static page: text and outputs
OURS = ".jp-MarkdownOutput, .jp-OutputArea-output, .text_cell_render, .output_area"
# inside them but not ours to mend: JupyterLab drops the alternative text of a PNG (jupyter/enhancement-proposals#120),
# which is why every picture has its sentence as text above it; nbconvert's classic template has pale links on the grey
# rows of a table, and pale numbers before outputs
THEIRS = ".jp-RenderedImage img, .text_cell_render td a, .output_prompt"


def faults(page, within=OURS):
    """Violations in the lesson's own text and outputs, as ``rule: element``; what lies around them is not looked at."""
    mine = []
    for violation in Axe().run(page, context=within).response["violations"]:
        for node in violation["nodes"]:
            theirs = "([at, theirs]) => !!document.querySelector(at)?.closest(theirs)"
            if not page.evaluate(theirs, [node["target"][-1], THEIRS]):
                mine.append(f"{violation['id']}: {node['html'][:200]}")
    return mine
