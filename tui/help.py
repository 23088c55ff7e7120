"""The help page: what the screen shows and what every key does, in a minute."""

HELP = """\
SOAKBOX: one pass of a car without a radiator, cooling and intake together

The picture shows the car from the side at one moment: tank in the nose, lines past
the driver, exchanger and engine at the rear, the duct beneath. The line under it is
time; the arrow keys move the moment and everything follows.

The top line is the verdict: the word, the limit that binds, by how much and when.
  ok  clear        !  caution        XX  danger
'No verdict' means that the numbers cannot be trusted; it never means safe.

WORK IN THREE STEPS
  1. Go to Hazards (2) and move through them: the moment jumps to where each happens,
     and the words beneath say why it matters and what would clear it.
  2. Press Enter on a hazard: the cursor goes to the input that drives it most.
  3. Press Enter on an input, type a value with its unit ("9 gal", "82 degC"), Enter.
     The picture, the verdict and the figures answer at once, with what they were.

KEYS
  1 2 3 4        Inputs, Hazards, Charts, Figures
  left right     the moment, one step; with Shift, ten
  [ ]            start and end of the event
  Enter          edit the input, or go from a hazard to its input
  Escape         leave the editor, the filter or a page
  /              filter the inputs          c  next chart
  ctrl+z ctrl+y  undo, redo                 u  SI or US units
  ctrl+s         save                       t  light, dark, sunlight
  ctrl+w         save under another name    s  sizes: the build sheet
  ctrl+o         open                       k  compare with other files
  ctrl+n         new scenario               r  the whole report of the check
  ctrl+p         every command by name      ? or F1  this page
  ctrl+q         quit

Clearing a value (empty text, Enter) goes back to the default. Values in the file stay
as you typed them, in your units.

Pressurised hot water can kill. The figures are estimates: the event's rule book, the
technical inspector, local codes and licensed practice govern.
"""

HINTS = (
    "This is the demo. Left and right move the moment; 2 shows the hazards; Enter on one goes "
    "to its input; ? explains the rest."
)
"""Shown under the verdict at the first start, until the first key that does something."""
