"""The notebook side: sessions, controls, opening JupyterLab, the exporter."""
