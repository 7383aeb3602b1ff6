"""Published formulas, each with its source and a check value. The one place that knows medicine.

Each docstring ends with `Source:` (an id of `sources.yaml`) and how far the number was checked:

- S1: seen in the source itself or on its publisher's page;
- S2: seen quoted elsewhere, the source not opened;
- M: from memory; anything shown to a reader must say `provisional`.

Results carry the same in `basis`, in the words of the model: `primary`, `secondary`, `memory`. Nothing here
overrides local protocol, medical direction or licensed practice.
"""
