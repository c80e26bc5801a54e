"""A scene of plain primitives and the back ends that write it as SVG, PDF or PNG."""
