"""Quantities on the sheet: concrete, steel and forms of one bay, with the factors of cost and carbon."""

from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.forms import CLASS_WORDS, FormAreas
from longvault.constraints.quantities import Factors, Quantities
from longvault.studies.checked import Checked
from longvault.studies.mean_amounts import amounts_of
from longvault.studies.sheet_table import SheetTable, digits

HEADER = ("item", "per plan area", "factors", "cost [money/m²]", "carbon [kgCO2e/m²]")
MEANS = "Means along the span of what each station of the taper asks for, as in its measures."
Row = tuple[str, str, str, str, str]


def amounts_table(checked: Checked, settings: ConcreteSettings) -> SheetTable:
    """Quantities of one bay per plan area with the factors that make cost and carbon of them."""
    found = amounts_of(checked)
    q = found.quantities
    rows = [*_steel_rows(q, settings.factors), _form_row(q, settings)]
    rows.append(("sum", "", "", digits(float(q.cost)), digits(float(q.carbon))))
    notes = (
        *((MEANS,) if checked.member is not None else ()),
        _surfaces(found.forms),
        "Prices and carbon factors are settings of the brief; defaults are from memory and differ by place "
        "and year by more than designs do.",
    )
    return SheetTable("Quantities", HEADER, tuple(rows), notes, marked=(len(rows) - 1,), words=(0, 1, 2))


def _steel_rows(q: Quantities, f: Factors) -> list[Row]:
    """Concrete, reinforcement and, where there are any, strands."""
    concrete, steel, strand = float(q.concrete), float(q.steel), float(q.strand)
    rows = [
        (
            "concrete",
            f"{concrete:.4f} m³/m²",
            f"{f.concrete_price:g} and {f.concrete_carbon:g} kgCO2e per m³",
            digits(float(q.cost_concrete)),
            digits(float(q.carbon_concrete)),
        )
    ]
    for name, weight, price, carbon in (
        ("reinforcement", steel, f.steel_price, f.steel_carbon),
        ("strands", strand, f.strand_price, f.strand_carbon),
    ):
        if name == "reinforcement" or weight > 0.0:
            how = f"{price:g} and {carbon:g} kgCO2e per kg"
            amount = f"{digits(weight)} kg/m²"
            rows.append((name, amount, how, digits(price * weight), digits(carbon * weight)))
    return rows


def _form_row(q: Quantities, settings: ConcreteSettings) -> Row:
    f = settings.factors
    how = (
        f"{f.open_form:g}, {f.inclined_form:g}, 2 x {f.steep_form:g}, beams {f.beam_form:g} per m² new, "
        f"{f.form_use:g} a use; {f.form_carbon:g} kgCO2e per m² new; made new once in {settings.uses:g} uses"
    )
    return (
        "forms",
        f"{float(q.form):.3f} m²/m²",
        how,
        digits(float(q.cost_form)),
        digits(float(q.carbon_form)),
    )


def _surfaces(forms: FormAreas) -> str:
    """Say how much surface there is of each slope class."""
    classes = zip((forms.flat, forms.inclined, forms.steep), CLASS_WORDS, strict=True)
    surfaces = "; ".join(f"{float(area):.2f} m {words}" for area, words in classes)
    return f"Form area per metre of span: {surfaces}; beams and kerbs {float(forms.beams):.2f} m."
