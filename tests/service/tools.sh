# SPDX-License-Identifier: MIT
# What the scripts inside the container share. Sourced, not run.

count=0
failed=0

# tell CODE NAME: one test.
tell() {
	count=$((count + 1))
	if [ "$1" -eq 0 ]; then
		echo "ok $count - $2"
	else
		echo "not ok $count - $2"
		journalctl -u tripdogd --no-pager -o cat -n 12 | sed 's/^/#   /'
		failed=$((failed + 1))
	fi
}

# expect NAME COMMAND ...: the command succeeds.
expect() {
	local name=$1
	shift
	"$@" >/tmp/said 2>&1
	local code=$?
	[ "$code" -eq 0 ] || sed 's/^/#   /' /tmp/said
	tell "$code" "$name"
}

of() {
	systemctl show tripdogd -p "$1" --value
}

# The mover and its children.
processes() {
	local main
	main=$(of MainPID)
	echo "$main $(cat "/proc/$main/task/$main/children")"
}

# until_true SECONDS COMMAND ...
until_true() {
	local end=$((SECONDS + $1))
	shift
	while ! "$@" >/dev/null 2>&1; do
		[ "$SECONDS" -lt "$end" ] || return 1
		sleep 0.05
	done
}

status_is() {
	[[ "$(of StatusText)" == $1 ]]
}

in_journal() {
	journalctl -u tripdogd --no-pager -o cat | grep -qF -- "$1"
}

configure() {
	sed -e 's|build/demo/board.sock|/run/bench/board.sock|' -e 's|build/demo/state|/var/lib/tripdog|' \
		-e 's|build/demo/keeper.sock|/run/tripdog/keeper.sock\ngroup = tripdog-keeper|' \
		-e 's|build/demo/visitor.sock|/run/tripdog/visitor.sock\ngroup = tripdog-visitor|' \
		-e 's|^mode = 0600|mode = 0660|' \
		/usr/share/doc/tripdog/examples/glasshouse.conf >/etc/tripdog/tripdog.conf
}

prepare() {
	dpkg -i /test/tripdog.deb >/tmp/dpkg 2>&1 || { cat /tmp/dpkg; return 1; }
	[ "$(of ActiveState)" = inactive ] || return 1
	useradd -G tripdog-visitor driver && useradd -G tripdog-keeper owner && useradd stranger
}

as() {
	local user=$1
	shift
	runuser -u "$user" -- "$@"
}

begin_board() {
	systemctl start bench-board && until_true 5 test -S /run/bench/control.sock
}
