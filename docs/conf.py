"""How the pages of this folder become a site: ``sphinx-build -W docs .environment/docs``."""

from importlib.metadata import version as _version

project = "Airframe print planner"
author = "The maintainers"
project_copyright = author
release = _version("airframe-print-planner")
extensions = ["myst_nb", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
html_theme = "furo"
html_title = project
html_copy_source = False
html_show_sphinx = False
exclude_patterns = ["_build"]
myst_heading_anchors = 3
nb_execution_mode = "off"  # the tests run the notebooks and compare what comes with what is kept
autodoc_typehints = "description"
