import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))  # still_course.py: importlib mode has no packages
