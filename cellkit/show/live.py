"""Live controls: sliders with a labelled number box each, a picture that is swapped in place, a sentence in words.

The front end keeps one message of a control under way and joins what comes meanwhile, so a fast drag skips pictures
instead of queueing them and always ends on the last value. Picture and sentence travel together in one message.
"""

import base64
import html
import weakref
from typing import NamedTuple

import ipywidgets as widgets
from IPython import get_ipython
from IPython.display import display

from cellkit.show.figures import HEIGHT, WIDTH, Moving, Picture
from cellkit.units import Q_, InputError, ureg

# what a small screen or a learner's own colours hide: which button is chosen, tracks, handles, the end of a sentence
STYLE = """<style>
.cellkit-panel .widget-html-content { min-width: 0 }
.cellkit-panel .widget-html img { max-width: 100%; height: auto }
.cellkit-panel .widget-html p { min-height: 7em; line-height: 1.4; margin: 0 }
.cellkit-panel .widget-text { flex: 1 1 270px; width: auto; height: auto; flex-wrap: wrap }
.cellkit-panel .widget-text label { flex: 1 1 auto; white-space: normal; text-align: left }
.cellkit-panel .widget-text input { flex: 0 0 5.5em }
.cellkit-panel .widget-slider { flex: 1 1 150px; width: auto; min-width: 150px }
.cellkit-panel .widget-toggle-buttons { width: auto; height: auto; flex-wrap: wrap }
.cellkit-panel .widget-toggle-buttons .jupyter-button { width: auto }
.cellkit-panel .jupyter-button.mod-active { outline: 2px solid currentColor; outline-offset: -2px }
@media (max-width: 1000px) {
  .cellkit-panel .widget-html p { min-height: 4.2em; line-height: 1.3 }
  .cellkit-panel .cellkit-row > * { margin-top: 0; margin-bottom: 0 }
}
@media (forced-colors: active) {
  .cellkit-panel .jupyter-button { border: 1px solid ButtonText }
  .cellkit-panel .jupyter-button.mod-active { forced-color-adjust: none; background: Highlight; color: HighlightText }
  .cellkit-panel .noUi-target { border: 1px solid CanvasText }
  .cellkit-panel .noUi-handle { border: 2px solid ButtonText }
  .cellkit-panel .noUi-handle:focus, .cellkit-panel .jupyter-button:focus { outline: 3px solid Highlight }
}
</style>"""
# what widgets cannot say of themselves, each time a picture has come: a new sentence is read out, handles have the name
# of their row and no value such as 45.00000000000001; the first picture can be there before all rows are
SPOKEN = """const speak = tries => {
  const panel = this.closest('.cellkit-panel')
  panel?.querySelector('.cellkit-words')?.setAttribute('aria-live', 'polite')
  const named = [...panel?.querySelectorAll('.noUi-handle') ?? []].filter(handle => {
    const name = handle.closest('.cellkit-row').querySelector('label')?.textContent
    handle.setAttribute('aria-label', name ?? '')
    handle.setAttribute('aria-valuetext', +Number(handle.getAttribute('aria-valuetext')).toFixed(6))
    return name
  })
  if (tries && named.length < this.dataset.rows) setTimeout(speak, 100, tries - 1)
}
speak(100)"""


class Slider(NamedTuple):
    """A quantity that a learner moves: its label and unit, the range in that unit, the step, where it starts."""

    label: str
    unit: str
    low: float
    high: float
    step: float
    start: float

    def widgets(self):
        """A number box that carries the label and a slider beside it, linked: the box, and the row of both."""
        limits = {"min": self.low, "max": self.high, "step": self.step, "value": self.start}
        box = widgets.BoundedFloatText(
            description=f"{self.label} / {ureg.Unit(self.unit):~P}", style={"description_width": "initial"}, **limits
        )
        slider = widgets.FloatSlider(readout=False, **limits)
        # a slider counts its steps in binary fractions and gives 67.00000000000001
        widgets.link((slider, "value"), (box, "value"), transform=(lambda value: round(value, 6), lambda value: value))
        return box, widgets.HBox([box, slider], layout={"flex_flow": "row wrap"}).add_class("cellkit-row")


def frame(png, sentence, rows):
    """Picture and sentence of a panel with so many ``rows``, as HTML; the picture keeps its shape and says the same."""
    words, data = html.escape(sentence), base64.b64encode(png).decode()
    size = f'width="{WIDTH}" height="{HEIGHT}" decoding="sync" data-rows="{rows}" onload="{html.escape(SPOKEN)}"'
    return f'<img {size} alt="{words}" src="data:image/png;base64,{data}">', f"<p>{words}</p>"


def _code_cell():
    """The id of the code cell that is being run, where there is a kernel and the front end tells it."""
    kernel = getattr(get_ipython(), "kernel", None)
    return kernel and kernel.get_parent().get("metadata", {}).get("cellId")


def _close(widget):
    """Let go of a widget and all that hangs on it: the kernel keeps what is not closed."""
    for part in (*getattr(widget, "children", ()), widget.layout, getattr(widget, "style", None)):
        if isinstance(part, widgets.DOMWidget):
            _close(part)
        elif part:
            part.close()
    widget.close()


class Live:
    """A picture with its sentence beside its controls; shown when it is the last line of a cell.

    A panel built on it gives ``sliders``, a :class:`Slider` by name, and ``look(**values)``, which sets its ``moving``
    artists to the SI values of all of them and returns the sentence; an InputError in it leaves the words alone.
    ``boxes`` are the number boxes by name, ``choice`` the buttons. Run again, a cell lets go of the panel it showed.
    """

    sliders: dict
    _shown_in = {}

    def __init__(self, figure, moving, choice=None):
        pairs = {name: slider.widgets() for name, slider in self.sliders.items()}
        self.figure, self.boxes, self.choice = figure, {name: box for name, (box, _) in pairs.items()}, choice
        self._moving, self._screen, self._words = Moving(figure, moving), widgets.HTML(), widgets.HTML()
        above = [choice] if choice else []
        self._words.add_class("cellkit-words")
        seen = widgets.VBox([self._screen, self._words], layout={"flex": f"0 1 {WIDTH + 4}px"})
        moved = widgets.VBox([*above, *(row for _, row in pairs.values())], layout={"flex": "1 1 280px"})
        self._widget = widgets.HBox([widgets.HTML(STYLE), seen, moved], layout={"flex_flow": "row wrap"})
        self._widget.add_class("cellkit-panel")
        weakref.finalize(self, _close, self._widget).atexit = False
        follow = weakref.WeakMethod(self._follow)
        for source in (*above, *self.boxes.values()):
            source.observe(lambda change: follow() and follow()(change), "value")
        self._follow()

    def _follow(self, change=None):
        given = {name: Q_(box.value, self.sliders[name].unit) for name, box in self.boxes.items()}
        try:
            self.sentence = self.look(**{name: value.to_base_units().magnitude for name, value in given.items()})
            possible = True
        except InputError as error:
            self.sentence, possible = f"No such cell: {error}", False
        for artist in (*self._moving.artists, *self._moving.texts):
            artist.set_visible(possible)
        self.png = self._moving.png()
        self._screen.value, self._words.value = frame(self.png, self.sentence, len(self.boxes))

    def picture(self):
        """The panel's picture as it stands, to keep where no kernel runs."""
        return Picture(self.figure, self.sentence)

    def _ipython_display_(self):
        cell = _code_cell()
        before = self._shown_in.get(cell)
        if before not in (None, self):
            _close(before._widget)
            vars(before).clear()  # the history of outputs keeps it
        if cell:
            self._shown_in[cell] = self
        if not vars(self):
            return print("This panel is gone: its cell was run again.")
        view = self._widget._repr_mimebundle_()
        display(view | {"text/plain": "[live control: run this cell to move it]"}, raw=True)
