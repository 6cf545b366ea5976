#!/usr/bin/env bash
# What runs and under which licences, and whether anything in it is known to be vulnerable: written into a folder.
#   bash deploy/supply.sh FOLDER     makes bom.json (CycloneDX), licences.tsv and audit.json from deploy/locked.txt
# The tools live in an environment of their own in that folder. The audit asks a public database, so it needs a network.
set -eu
folder=$(mkdir -p "${1:?give a folder to write into}" && cd "$1" && pwd)
cd "$(dirname "$0")/.."
[ -x "$folder/tools/bin/cyclonedx-py" ] || {
  python3 -m venv "$folder/tools"
  "$folder/tools/bin/pip" install --quiet "cyclonedx-bom>=7" "pip-audit>=2.9"
}
[ -x "$folder/runs/bin/python" ] || python3 -m venv "$folder/runs"
"$folder/runs/bin/pip" install --quiet --require-hashes --requirement deploy/locked.txt
"$folder/tools/bin/cyclonedx-py" environment --pyproject pyproject.toml --output-reproducible --of JSON -o "$folder/bom.json" \
  "$folder/runs/bin/python"
python3 - "$folder" <<'PYTHON'
import json, pathlib, sys

folder = pathlib.Path(sys.argv[1])
rows = []
for part in json.loads((folder / "bom.json").read_text(encoding="utf-8"))["components"]:
    held = [one.get("expression") or one["license"].get("id") or one["license"].get("name", "") for one in part.get("licenses", [])]
    rows.append("\t".join((part["name"], part.get("version", ""), "; ".join(name.splitlines()[0] for name in held if name) or "not stated")))
(folder / "licences.tsv").write_text("\n".join(sorted(rows)) + "\n", encoding="utf-8")
print(f"{len(rows)} parts; licence not stated: {sum(row.endswith('not stated') for row in rows)}")
PYTHON
"$folder/tools/bin/pip-audit" --requirement deploy/locked.txt --require-hashes --disable-pip --format json --output "$folder/audit.json"
