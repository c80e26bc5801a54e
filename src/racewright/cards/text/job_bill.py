"""The bill as text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from racewright.takeoff.bill_model import Bill

if TYPE_CHECKING:
    from racewright.operations.job_materials import JobBillAnswer


def job_bill_text(answer: JobBillAnswer, split: Literal["none", "areas", "runs"] = "none") -> str:
    """The whole job's bill, and where it is asked for that of each area or run."""
    lines = _bill(answer.name, answer.job, answer.currency)
    for part in {"none": (), "areas": answer.areas, "runs": answer.runs}[split]:
        name = part.name or ("no area" if part.scope == "area" else "the job itself")
        lines += ["", *_bill(name, part, answer.currency)]
        if part.unpriced and part.material is not None:
            lines.append(f"  without a price, left out of the money: {'; '.join(part.unpriced)}")
    return "\n".join(lines)


def _bill(name: str, bill: Bill, currency: str) -> list[str]:
    lines = [name]
    width = max((len(line.item) for line in bill.lines), default=0)
    for line in bill.lines:
        row = f"  {line.group:10} {line.item:{width}} {line.quantity:>10} {line.unit:4}"
        if line.amount is not None:
            price = f"{line.price} / {line.per}" if line.price is not None else ""
            row += f" {price:>16} {line.amount:>10}"
        if line.labour_h is not None:
            row += f"   {line.labour_h} h" + (f" {line.labour}" if line.labour is not None else "")
        lines.append(row.rstrip())
    if bill.material is not None:
        lines.append(f"  material {bill.material} {currency}".rstrip())
    if bill.labour_h is not None:
        money = f", {bill.labour} {currency}".rstrip() if bill.labour is not None else ""
        lines.append(f"  labour {bill.labour_h} h{money}")
    if bill.total is not None and bill.material is not None and bill.labour is not None:
        lines.append(f"  together {bill.total} {currency}".rstrip())
    return lines
