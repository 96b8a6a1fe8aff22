#!/usr/bin/env bash
# Runs the sh blocks of docs/worked-example.md, all in one shell, against a demo plant of its own, and compares what they print
# with the text block that follows each. FILL=1 prints the output of every block instead, to write the page by.
#   worked_example.sh PROGRAM PAGE
set -u
program=$1 page=$2
work=$(mktemp -d)
server=
stop() {
	[ -n "$server" ] && kill "$server" 2>/dev/null && wait "$server" 2>/dev/null
	rm -rf "$work"
}
trap stop EXIT

"$program" serve --demo --data "$work/plant" --port 0 >"$work/log" 2>&1 &
server=$!
for _ in $(seq 600); do
	address=$(sed -n 's/^Loopledger .* at \(http:[^ ]*[0-9]\).*/\1/p' "$work/log")
	[ -n "$address" ] && break
	kill -0 "$server" 2>/dev/null || break
	sleep 0.1
done
[ -n "$address" ] || { cat "$work/log"; echo "the server did not start"; exit 1; }

# block N.sh and, where a text block follows it, N.text
awk -v dir="$work" '
	/^```sh$/ { n++; out = sprintf("%s/%02d.sh", dir, n); next }
	/^```text$/ { out = sprintf("%s/%02d.text", dir, n); printf "" >out; next }
	/^```$/ { if (out) close(out); out = ""; next }
	out { print >out }' "$page"

cd "$work" || exit 1
: >all.sh
for block in [0-9][0-9].sh; do
	printf 'echo "%s" >at\nexec >%s.is 2>&1\n' "${block%.sh}" "${block%.sh}" >>all.sh
	cat "$block" >>all.sh
done
LOOPLEDGER=$address bash -eu -o pipefail all.sh || { echo "block $(cat at) failed:"; cat "$(cat at).sh" "$(cat at).is"; exit 1; }

failed=0 compared=0
for block in [0-9][0-9].sh; do
	n=${block%.sh}
	if [ -n "${FILL:-}" ]; then
		printf -- '--- %s\n' "$n"
		cat "$n.is"
		continue
	fi
	[ -e "$n.text" ] || continue
	compared=$((compared + 1))
	diff -u --label "the page, block $n" --label "the program" "$n.text" "$n.is" || failed=$((failed + 1))
done
[ -n "${FILL:-}" ] && exit 0

# The certificate, read by another program than the one that drew it: both runs' figures and both people are on it.
pdftotext -layout certificate.pdf certificate.txt
for part in FCV-2107 CV-5 "Ida Holt" "Ruth Calder" "$(jq -r .certificate.number record.json)" 101.9 100.1 MA-01 TS-01; do
	grep -qF -- "$part" certificate.txt || { echo "the certificate does not say $part"; failed=$((failed + 1)); }
done
[ "$compared" -gt 5 ] || { echo "only $compared blocks have a text to compare"; failed=$((failed + 1)); }
exit "$failed"
