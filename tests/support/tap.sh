# SPDX-License-Identifier: MIT
# For the scripts in tests/tree: a check is a name and a command that lists findings; nothing found is "ok".
# Sourced, not run.

tap_count=0
tap_failed=0

# The tree to check: the one the script stands in, or TD_TREE (a copy that was broken on purpose).
cd "${TD_TREE:-$(dirname "${BASH_SOURCE[0]}")/../..}" || exit 1

# check NAME COMMAND [ARGUMENT ...]
check() {
	local findings name=$1
	shift
	findings=$("$@")
	tap_count=$((tap_count + 1))
	if [ -z "$findings" ]; then
		echo "ok $tap_count - $name"
	else
		echo "not ok $tap_count - $name"
		printf '%s\n' "$findings" | sed 's/^/#   /'
		tap_failed=$((tap_failed + 1))
	fi
}

finish() {
	echo "1..$tap_count"
	exit $((tap_failed > 0))
}

# The files of the project: what git knows or would add; outside a checkout, what lies there.
project_files() {
	if git rev-parse --is-inside-work-tree >/dev/null 2>&1; then
		git ls-files --cached --others --exclude-standard | sort -u | while IFS= read -r file; do
			[ ! -f "$file" ] || printf '%s\n' "$file"
		done
	else
		find . -type f -not -path './build/*' -not -path './.git/*' | sed 's|^\./||' | sort
	fi
}

# The same, only C sources and headers.
c_files() {
	project_files | grep -E '\.[ch]$'
}
