"""The help page: what the screen shows and what every key does, in a minute."""

HELP = """\
SOAKBOX: one pass of a car without a radiator, cooling and intake together

The picture shows the car from the side at one moment: the tank in the nose,
the lines past the driver, exchanger and engine at the rear, the duct beneath.
The line under it is time; left and right move the moment, and so does a click
on the line or on a chart. Everything on the screen follows.

The top line is the verdict: the word, the limit that binds, by how much, when.
  ok CLEAR     ! CAUTION     XX DANGER     ?? NO VERDICT
No verdict means that the numbers cannot be trusted; it never means safe.

THREE STEPS
  1. Press 2 and go down the hazards: the moment jumps to where each happens,
     and the words beneath say what would clear it and why it matters.
  2. Enter on a hazard puts the cursor on the input that drives it most.
  3. Enter on an input, type a value with its unit ("9 gal", "82 degC"), Enter.
     Verdict, picture and figures answer at once, with what they were before.

KEYS
  1 2 3 4        inputs, hazards, charts, figures
  left right     the moment by one step; with Shift by ten
  [ ]            start and end of the event
  Enter          edit the input; from a hazard to its input; take what is typed
  Escape         leave the editor, the filter or a page as it was
  /              filter the inputs by words
  i  d  Delete   put in, double, take out a leg, a duct part or a table
  c  C           next chart, the one before
  w              the hazard in full, once more its working; a figure's working
  u              SI or US units on the screen
  t              light, dark, sunlight
  s              sizes: the build sheet; there p puts a size in
  h              hot weather: verdicts by air and tank temperature
  o              odds: how sure the verdict is, and what drives it
  m              map: two inputs against a result, with the limit
  l              fit to a logger's CSV file, or to what the crew read
  k              compare with other scenarios
  r              the whole check as text
  ctrl+z ctrl+y  undo, redo
  ctrl+s ctrl+w  save, save under another name
  ctrl+o ctrl+n  open, begin a new scenario
  ctrl+p         every command and every input by name
  ? or F1        this page
  ctrl+q         quit

A value is taken on Enter, or when you leave it; what is not accepted is never
taken, and the help line says why. An empty value goes back to the default. The
file keeps your comments and your own units. * marks what is not saved yet;
unsaved edits outlive a crash and are offered at the next start.

Pressurised hot water can kill. The figures are estimates: the event's rule
book, the technical inspector, local codes and licensed practice govern.
"""

HINTS = (
    "This is the demo. Press 2 for the hazards, Enter on one for the input behind it. "
    "Left and right move the moment. ? explains the rest."
)
"""Shown at the first start, until the first thing that is done."""
