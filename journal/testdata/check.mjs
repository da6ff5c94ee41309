// Checks an export as doc/journal-format.md, section 9 says, with nothing but
// node: JSON.stringify is the serialiser RFC 8785 is defined by, and its sort of
// strings is by UTF-16 code units. Reads stdin; prints what it found, or fails
// with the number of the first bad line.
import { createHash, createPublicKey, verify } from "node:crypto";
import { readFileSync } from "node:fs";

const hash = (...parts) => createHash("sha256").update(Buffer.concat(parts)).digest();
const lineHash = (line) => hash(Buffer.from([0]), line);
const hex = (s, bytes) => must(new RegExp(`^[0-9a-f]{${2 * bytes}}$`).test(s), "hex") && Buffer.from(s, "hex");

function must(ok, what) {
  if (!ok) throw new Error(what);
  return true;
}

function canonical(v, depth = 1) {
  if (typeof v === "number") must(Number.isSafeInteger(v), "integer");
  if (v === null || typeof v !== "object") return JSON.stringify(v);
  must(depth <= 64, "depth");
  if (Array.isArray(v)) return "[" + v.map((x) => canonical(x, depth + 1)).join(",") + "]";
  return "{" + Object.keys(v).sort().map((k) => JSON.stringify(k) + ":" + canonical(v[k], depth + 1)).join(",") + "}";
}

function signed(domain, line, open, key, sig) {
  const der = Buffer.concat([Buffer.from("302a300506032b6570032100", "hex"), key]); // RFC 8410
  const message = Buffer.concat([Buffer.from(domain), line.subarray(open, line.length - 138)]);
  must(verify(null, message, createPublicKey({ key: der, format: "der", type: "spki" }), hex(sig, 64)), "signature");
}

function root(leaves) {
  if (leaves.length === 0) return hash();
  if (leaves.length === 1) return leaves[0];
  let k = 1;
  while (2 * k < leaves.length) k *= 2;
  return hash(Buffer.from([1]), root(leaves.slice(0, k)), root(leaves.slice(k)));
}

const keys = {}, entries = {}, receipted = new Set(), leaves = [];
let headSize = -1;
const only = (o, ...names) => must(Object.keys(o).sort().join() === names.sort().join(), "members");

function entry(e, sig, line) {
  only(e, "body", "device", "id", "kind", "seq", "time", "v", e.seq === 1 ? "key" : "prev");
  must(e.v === 1 && typeof e.body === "object" && e.body !== null && !Array.isArray(e.body), "form");
  must(e.time >= 0 && e.time < 2 ** 48 && Buffer.byteLength(e.kind) >= 1 && Buffer.byteLength(e.kind) <= 64, "time, kind");
  must(/^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/.test(e.id), "id");
  if (e.seq === 1) keys[e.device] = hex(e.key, 32);
  must(hash(keys[e.device]).equals(hex(e.device, 32)), "device");
  if (e.seq > 1) must(entries[e.prev]?.device === e.device && entries[e.prev].seq === e.seq - 1, "prev");
  signed("sapwell journal 1 entry\n", line, 9, keys[e.device], sig);
  const h = lineHash(line).toString("hex");
  must(!(h in entries), "twice");
  entries[h] = e;
}

function receipt(r, line) {
  only(r, "entry", "n", "time", "v");
  must(r.v === 1 && r.n === leaves.length && r.entry in entries && !receipted.has(r.entry), "receipt");
  receipted.add(r.entry);
  leaves.push(lineHash(line));
}

function head(h, sig, line) {
  only(h, "key", "root", "size", "time", "v");
  must(h.v === 1 && h.size === leaves.length && root(leaves).equals(hex(h.root, 32)), "root");
  signed("sapwell journal 1 head\n", line, 8, hex(h.key, 32), sig);
  headSize = h.size;
}

const text = readFileSync(0);
for (let n = 1, at = 0; at < text.length; n++) {
  const end = text.indexOf(10, at);
  try {
    must(end >= 0, "line feed");
    const line = text.subarray(at, end);
    const v = JSON.parse(new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(line));
    must(line.length <= 1048576 && Buffer.from(canonical(v)).equals(line), "canonical");
    if (v.entry) only(v, "entry", "sig"), entry(v.entry, v.sig, line);
    else if (v.receipt) only(v, "receipt"), receipt(v.receipt, line);
    else only(v, "head", "sig"), head(v.head, v.sig, line);
  } catch (e) {
    console.log(`bad line ${n}: ${e.message}`);
    process.exit(1);
  }
  at = end + 1;
}
console.log(`${Object.keys(entries).length} entries, ${leaves.length} receipts, head of ${headSize}`);
