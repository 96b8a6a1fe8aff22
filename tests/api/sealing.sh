#!/usr/bin/env bash
# Sealing as a plant sets it up, through the program and curl, from sign-in to certificate: a company's key, a key in a device,
# time stamps; and each of them failing, which must be said to who issues, leave the record reviewed and take no number.
#   sealing.sh PROGRAM
# Needs curl, jq, sqlite3, openssl, node, pdfsig (poppler-utils), softhsm2 and libengine-pkcs11-openssl. Listens on loopback alone.
set -u
program=$1
work=$(mktemp -d)
cd "$work" || exit 1
pids=() failed=0
stop() {
	for p in "${pids[@]}"; do kill "$p" 2>/dev/null; done
	wait 2>/dev/null
	rm -rf "$work"
}
trap stop EXIT
fail() {
	echo "FAILED: $*"
	failed=$((failed + 1))
}

# ---- keys ----

authority() { # authority NAME SUBJECT: a root
	openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 3000 -keyout "$1.key" -out "$1.crt" -subj "/CN=$2" 2>/dev/null
}
certificate() { # certificate NAME SUBJECT ROOT DAYS USAGE...: a key and a certificate under it
	openssl req -new -newkey "${KIND:-ec}" ${KIND_OPTIONS--pkeyopt ec_paramgen_curve:P-256} -nodes -keyout "$1.key" -out "$1.csr" -subj "/CN=$2" 2>/dev/null
	printf 'basicConstraints=critical,CA:FALSE\n%s\n' "$5" >"$1.ext"
	openssl x509 -req -in "$1.csr" -CA "$3.crt" -CAkey "$3.key" -days "$4" -extfile "$1.ext" -out "$1.crt" 2>/dev/null
}
signs='keyUsage=critical,digitalSignature'
authority company "Brackenholm company root"
authority stranger "A stranger's root"
certificate works "Brackenholm works seal" company 900 "$signs"
certificate old "Brackenholm old seal" company -1 "$signs"
certificate clock "Brackenholm clock" company 900 "$signs"$'\nextendedKeyUsage=critical,timeStamping'
echo "gate valve 3" >right
echo "gate valve 4" >wrong
chmod 600 right wrong
for name in works old; do
	openssl pkcs12 -export -inkey $name.key -in $name.crt -certfile company.crt -passout file:right -out $name.p12
	chmod 600 $name.p12
done
KIND=rsa:3072 KIND_OPTIONS='' certificate device "Brackenholm device seal" company 900 "$signs"
mkdir tokens
printf 'directories.tokendir = %s/tokens\nobjectstore.backend = file\n' "$work" >hsm.conf
export SOFTHSM2_CONF=$work/hsm.conf
softhsm2-util --init-token --free --label seal --pin 1234 --so-pin 5678 >/dev/null &&
	softhsm2-util --import device.key --token seal --label seal --id 01 --pin 1234 >/dev/null || fail "no token"
cat device.crt company.crt >device-chain.crt
echo 1234 >pin
echo 9999 >other-pin
chmod 600 pin other-pin
module=$(ls /usr/lib/softhsm/libsofthsm2.so /usr/lib/*/softhsm/libsofthsm2.so 2>/dev/null | head -1)

# ---- a time stamp authority (RFC 3161 over HTTP, 3.4): openssl answers ----

printf '[t]\nserial=%s/serial\ndefault_policy=1.2.3.4\ndigests=sha256\nsigner_digest=sha256\ness_cert_id_alg=sha256\n' "$work" >ts.conf
echo 01 >serial
cat >clock.mjs <<'JS'
import {execFileSync} from 'node:child_process';
import {writeFileSync, readFileSync} from 'node:fs';
import {createServer} from 'node:http';
const server = createServer((request, reply) => {
	const parts = [];
	request.on('data', part => parts.push(part));
	request.on('end', () => {
		writeFileSync('question', Buffer.concat(parts));
		execFileSync('openssl', ['ts', '-reply', '-config', 'ts.conf', '-section', 't', '-queryfile', 'question',
			'-inkey', 'clock.key', '-signer', 'clock.crt', '-out', 'answer'], {stdio: 'ignore'});
		reply.setHeader('Content-Type', 'application/timestamp-reply');
		reply.end(readFileSync('answer'));
	});
});
server.listen(0, '127.0.0.1', () => writeFileSync('clock.port', String(server.address().port)));
JS
node clock.mjs & pids+=($!)
for _ in $(seq 100); do [ -s clock.port ] && break; sleep 0.1; done
stamps=http://127.0.0.1:$(cat clock.port)/

# ---- the program ----

server=
serve() { # serve SETTINGS...
	: >log
	"$program" serve --demo --data plant --port 0 "$@" >log 2>&1 &
	server=$!
	pids+=($server)
	address=
	for _ in $(seq 600); do
		address=$(sed -n 's/^Loopledger .* at \(http:[^ ]*[0-9]\).*/\1/p' log)
		[ -n "$address" ] && break
		kill -0 "$server" 2>/dev/null || break
		sleep 0.1
	done
	[ -n "$address" ] || { cat log; echo "the server did not start"; exit 1; }
	API=$address/api/v1
	for person in ruth admin; do sign_in $person; done
}
stays_down() { # stays_down WORDS SETTINGS...: a key that cannot be opened is said at the start, before anybody tests a day long
	local words=$1 status
	shift
	timeout 20 "$program" serve --demo --data plant --port 0 "$@" >log 2>&1
	status=$?
	[ $status -ne 0 ] && [ $status -ne 124 ] || fail "exit status $status with $*"
	grep -qF -- "$words" log || fail "$(cat log) does not say \"$words\""
}
end() {
	kill "$server"
	wait "$server" 2>/dev/null
}
name_of() { # name_of ROLE N: a sign-in of the demo plant
	curl -s "$API/plant" | jq -r --arg role "$1" --argjson n "$2" '[.demo.people[] | select(.roles | index($role))][$n].sign_in'
}
sign_in() { # ruth: a lead; admin: who keeps the settings
	local name
	[ "$1" = admin ] && name=$(name_of administrator 0) || name=ruth
	curl -s -c "$1.cookies" -H 'Content-Type: application/json' -d "{\"sign_in\": \"$name\", \"password\": \"brackenholm-demo\"}" "$API/session" | jq -r .token >"$1.token"
}
as() { # as PERSON CURL-ARGUMENTS...
	local person=$1
	shift
	curl -s -b "$person.cookies" -H "X-Session-Token: $(cat "$person.token")" -H 'Content-Type: application/json' "$@"
}
may_issue() { # may_issue RECORD: what the record page asks before it shows the button
	as ruth "$API/test-records/$1" | jq -r '.state + " " + (.may | map(select(. == "issue")) | join(""))'
}
refused() { # refused STATUS WORDS RECORD: issuing says so, and nothing has changed
	local status
	status=$(as ruth -o said -w '%{http_code}' -d '{}' "$API/test-records/$3/certificate")
	[ "$status" = "$1" ] || fail "status $status, not $1: $(cat said)"
	jq -r .detail said | grep -qF -- "$2" || fail "\"$(jq -r .detail said)\" does not say \"$2\""
	[ "$(may_issue "$3")" = "reviewed issue" ] || fail "the record is $(may_issue "$3")"
}
issued() { # issued RECORD FILE: it is, under the next number
	local status
	status=$(as ruth -o said -w '%{http_code}' -d '{}' "$API/test-records/$1/certificate")
	[ "$status" = 201 ] || fail "status $status: $(cat said)"
	[ "$(jq -r .state said)" = certified ] || fail "the record is $(jq -r .state said)"
	jq -r .certificate.number said
	as ruth -o "$2" "$API/test-records/$1/certificate.pdf"
}
set_stamps() { # set_stamps ADDRESS
	as admin "$API/settings" | jq -c --arg url "$1" '.time_stamp = $url' >settings.json
	as admin -o said -X PUT -d @settings.json "$API/settings"
	[ "$(jq -r .time_stamp said)" = "$1" ] || fail "the settings were not changed: $(cat said)"
}

stays_down "wrong passphrase for works.p12" --seal-pkcs12 works.p12 --seal-passphrase-file wrong

# The first two that wait for their review get it.
serve --seal-pkcs12 old.p12 --seal-passphrase-file right
as ruth "$API/test-records?state=performed" | jq -r '.items[].id' >waiting
for record in $(cat waiting); do
	as ruth "$API/test-records/$record" | jq -c '{meaning: "reviewed", password: "brackenholm-demo", content_sha256}' >sign.json
	as ruth -o said -d @sign.json "$API/test-records/$record/sign"
	[ "$(jq -r .state said)" = reviewed ] || fail "not reviewed: $(cat said)"
done
read -r one two <<<"$(tr '\n' ' ' <waiting)"
refused 422 "expired on" "$one"
end

serve --seal-pkcs12 works.p12 --seal-passphrase-file wrong
refused 422 "wrong passphrase for works.p12" "$one"
end

serve --seal-pkcs12 works.p12 --seal-passphrase-file right --stamp-roots company.crt
set_stamps http://127.0.0.1:1/ # tcpmux (RFC 6335): nobody listens
refused 503 "time stamp" "$one"
end

serve --seal-pkcs12 works.p12 --seal-passphrase-file right
refused 422 --stamp-roots "$one"
set_stamps ""
first=$(issued "$one" one.pdf)
end

device=(--seal-module "$module" --seal-token "pkcs11:token=seal;object=seal" --seal-certificate device-chain.crt)
serve "${device[@]}" --seal-pin-file other-pin
refused 422 "the device gives no key" "$two"
end

serve "${device[@]}" --seal-pin-file pin --seal-roots company.crt --stamp-roots company.crt
set_stamps "$stamps"
second=$(issued "$two" two.pdf)
as ruth -o two.xml "$API/test-records/$two/certificate.xml"
end

# ---- what was made, judged by others ----

number() { echo $((10#${1##*-})); }
[ "$(number "$second")" = $(($(number "$first") + 1)) ] || fail "$second does not follow $first: a number was lost"

mkdir nss
certutil -N -d sql:nss --empty-password && certutil -A -d sql:nss -n company -t CT,C,C -i company.crt
for pdf in one two; do
	pdfsig -nssdir sql:nss $pdf.pdf >$pdf.said 2>&1
	for words in "Signature is Valid" "Certificate is Trusted" "Total document signed"; do
		grep -qF "$words" $pdf.said || fail "$pdf.pdf: pdfsig does not say \"$words\": $(cat $pdf.said)"
	done
done
grep -qF "Brackenholm works seal" one.said || fail "one.pdf is not the company's: $(cat one.said)"
grep -qF "Brackenholm device seal" two.said || fail "two.pdf is not the device's: $(cat two.said)"

# The stamp: a token in the unsigned attributes, over the signature's value (RFC 5126 6.1.1; OID 1.2.840.113549.1.9.16.2.14).
cat >stamp.mjs <<'JS'
import {readFileSync, writeFileSync} from 'node:fs';
const pdf = readFileSync('two.pdf'), text = pdf.toString('latin1');
const cms = Buffer.from(/\/Contents <([0-9a-f]+)>/.exec(text)[1], 'hex');
const size = at => { /* of the DER element there, its head included */
	const n = cms[at + 1];
	if (n < 128)
		return [2, n];
	return [2 + (n & 127), cms.subarray(at + 2, at + 2 + (n & 127)).reduce((sum, b) => sum * 256 + b, 0)];
};
const oid = Buffer.from('060b2a864886f70d010910020e', 'hex'), at = cms.indexOf(oid);
if (at < 0)
	throw new Error('no time stamp');
const set = at + oid.length, token = set + size(set)[0], [head, length] = size(token);
writeFileSync('token', cms.subarray(token, token + head + length));
/* before the attributes ([1] SET of one attribute SEQUENCE) stands the signature's value, an OCTET STRING of an RSA key's size: 384 bytes */
const octets = cms.lastIndexOf(Buffer.from('04820180', 'hex'), at);
writeFileSync('value', cms.subarray(octets + 4, octets + 4 + 384));
JS
node stamp.mjs || fail "two.pdf has no time stamp"
openssl ts -verify -token_in -in token -data value -CAfile company.crt 2>&1 | grep -q "Verification: OK" || fail "the time stamp does not fit the seal"

# ---- the same files before the command that needs no server: with the plant's folder, and away from it with a root alone ----

judged() { # judged STATUS WORDS FILE SETTINGS...
	local expected=$1 words=$2 status
	shift 2
	"$program" verify "$@" >said 2>&1
	status=$?
	[ "$status" = "$expected" ] || fail "verify $* ended with $status, not $expected: $(cat said)"
	grep -qF -- "$words" said || fail "verify $* does not say \"$words\": $(cat said)"
}
here=(--demo --data plant "${device[@]}" --seal-pin-file pin --seal-roots company.crt --stamp-roots company.crt)
away=(--data nowhere --seal-roots company.crt --stamp-roots company.crt)
cp two.pdf changed.pdf
printf X | dd of=changed.pdf bs=1 seek=$(($(stat -c %s two.pdf) / 2)) conv=notrunc 2>/dev/null
judged 0 "byte for byte, the PDF issued as $first" one.pdf "${here[@]}"
judged 0 "$second stands." two.pdf "${here[@]}"
judged 0 "byte for byte, the XML document issued as $second" two.xml "${here[@]}"
judged 1 "No certificate was issued here with exactly these bytes." changed.pdf "${here[@]}"
judged 0 "Sealed by Brackenholm works seal" one.pdf "${away[@]}"
judged 0 "(time stamped)" two.pdf "${away[@]}"
judged 0 "nothing was changed since" two.xml "${away[@]}"
judged 1 "the file was changed after it was sealed" changed.pdf "${away[@]}"
judged 1 "its root is not among the trusted ones" one.pdf --data nowhere --seal-roots stranger.crt

# Made void, it is still the file that was issued, and stands no longer.
serve "${here[@]:3}"
as ruth -o said -d '{"reason": "The wrong instrument was tested", "password": "brackenholm-demo"}' "$API/test-records/$two/void"
end
judged 1 "$second is void: The wrong instrument was tested." two.pdf "${here[@]}"
judged 0 "(time stamped)" two.pdf "${away[@]}"

# ---- the plant's own seal, renewed under its own root before it expires ----

"$program" serve --demo --data own --port 0 >log 2>&1 &
pids+=($!)
for _ in $(seq 600); do grep -q "Ctrl-C" log && break; sleep 0.1; done
kill "${pids[-1]}"
wait "${pids[-1]}" 2>/dev/null
own=(--demo --data own)
before=$("$program" seal show "${own[@]}")
openssl x509 -in own/seal/seal.pem -noout -fingerprint -sha256 | cut -d= -f2 | grep -qF "$(sed -n 's/^SHA-256 of the certificate *//p' <<<"$before")" || fail "seal show does not name the seal: $before"
grep -qF "until $(date -u -d "$(openssl x509 -in own/seal/seal.pem -noout -enddate | cut -d= -f2)" +%F)" <<<"$before" || fail "seal show does not say until when: $before"
"$program" seal renew "${own[@]}" --seal-pkcs12 works.p12 --seal-passphrase-file right >said 2>&1 && fail "a company's seal was renewed"
cp own/seal/seal.pem old.pem
"$program" seal renew "${own[@]}" >said 2>&1 || fail "not renewed: $(cat said)"
openssl verify -CAfile own/seal/root.crt own/seal/seal.pem >/dev/null 2>&1 || fail "the renewed seal is not under the plant's root"
[ "$(openssl x509 -in own/seal/seal.pem -noout -pubkey)" != "$(openssl x509 -in old.pem -noout -pubkey)" ] || fail "the key is the old one"
[ $(($(date -d "$(openssl x509 -in own/seal/seal.pem -noout -enddate | cut -d= -f2)" +%s) - $(date +%s))) -gt $((4 * 365 * 86400)) ] || fail "it is not valid for years"
"$program" ledger verify "${own[@]}" >said 2>&1 || fail "the ledger: $(cat said)"
sqlite3 own/plant.db "SELECT count(*) FROM ledger_entry WHERE action = 'renew' AND thing = 'seal'" | grep -qx 1 || fail "the ledger does not tell of it"
mv own/seal/root.pem away.pem
"$program" seal renew "${own[@]}" >said 2>&1 && fail "renewed without its root"
grep -qF "the root key is missing" said || fail "it does not say what is missing: $(cat said)"

[ "$failed" = 0 ] && echo "sealing: all as it should be"
exit "$failed"
