"""Where things stand in the project's folder, for tests in any folder."""

from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
EXAMPLE = EXAMPLES / "harvest-fair-trailer.yaml"
DATA = ROOT / "src" / "drawbar" / "data"
PUBLISHED = ROOT / "tests" / "published"
SUPPORT = ROOT / "tests" / "support"
