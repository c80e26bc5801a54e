"""Scenes, tables and models as files: PDF, PNG, DXF, IFC, glTF, CSV, XLSX; each heavier library only when asked for."""
