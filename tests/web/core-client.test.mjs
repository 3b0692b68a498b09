// The page's line to Python, against a worker that the test plays.
import assert from "node:assert/strict";
import { test } from "node:test";

globalThis.Worker ??= class {};
const { CoreClient, DroppedError } = await import("../../site_src/assets/js/core-client.js");

class PlayedWorker extends EventTarget {
  sent = [];
  ended = false;

  postMessage(message) {
    this.sent.push(message);
  }

  terminate() {
    this.ended = true;
  }

  say(data) {
    this.dispatchEvent(Object.assign(new Event("message"), { data }));
  }

  ready() {
    this.say({ event: "ready", info: '{"version":"1"}', start: "plain" });
  }

  reply(index, value) {
    this.say({ id: this.sent[index].id, reply: JSON.stringify(value) });
  }
}

function made() {
  const workers = [];
  const client = new CoreClient(
    (plain) => workers[workers.push(Object.assign(new PlayedWorker(), { plain })) - 1],
  );
  return { client, workers };
}

test("requests wait until Python is ready, and carry only text", async () => {
  const { client, workers } = made();
  const answer = client.ask("form", { op: "calc" });
  assert.equal(workers.length, 1);
  assert.equal(workers[0].sent.length, 0);
  workers[0].ready();
  assert.equal(workers[0].sent.length, 1);
  assert.equal(typeof workers[0].sent[0].request, "string");
  workers[0].reply(0, { ok: true });
  assert.deepEqual(await answer, { ok: true });
  assert.deepEqual(client.info, { version: "1", start: "plain" });
});

test("the latest request of one form wins; another form is not disturbed", async () => {
  const { client, workers } = made();
  const first = assert.rejects(client.ask("a", { n: 1 }), DroppedError);
  const other = client.ask("b", { n: 2 });
  const last = client.ask("a", { n: 3 });
  await first;
  workers[0].ready();
  for (let i = 0; i < 2; i += 1) workers[0].reply(i, JSON.parse(workers[0].sent[i].request));
  assert.deepEqual(await other, { language: "en", n: 2 });
  assert.deepEqual(await last, { language: "en", n: 3 });
});

test("an answer that was overtaken while it ran is dropped", async () => {
  const { client, workers } = made();
  client.start();
  workers[0].ready();
  const old = assert.rejects(client.ask("a", { n: 1 }), DroppedError);
  const latest = client.ask("a", { n: 2 });
  workers[0].reply(0, { n: 1 });
  await old;
  workers[0].reply(1, { n: 2 });
  assert.deepEqual(await latest, { n: 2 });
});

test("stop ends the worker, drops requests and starts afresh", async () => {
  const { client, workers } = made();
  client.start();
  workers[0].ready();
  const stuck = assert.rejects(client.ask("a", {}), DroppedError);
  client.stop();
  await stuck;
  assert.ok(workers[0].ended);
  assert.equal(workers.length, 2);
  const answer = client.ask("a", {});
  // What the ended worker still says is not heard.
  workers[0].ready();
  assert.equal(workers[1].sent.length, 0);
  workers[1].ready();
  workers[1].reply(0, { ok: true });
  assert.deepEqual(await answer, { ok: true });
});

test("a failed start is told, and can be tried again", async () => {
  const { client, workers } = made();
  const failed = assert.rejects(client.ask("a", {}), /no memory/);
  workers[0].say({ event: "failed", stage: "core", message: "no memory" });
  await failed;
  assert.equal(client.status.stage, "failed");
  assert.equal(client.status.message, "no memory");
  client.retry();
  assert.equal(workers.length, 2);
  workers[1].ready();
  assert.equal(client.status.stage, "ready");
});

test("a worker that cannot even be made is a failure, not an exception", async () => {
  const client = new CoreClient(() => {
    throw new Error("blocked");
  });
  client.start();
  assert.equal(client.status.stage, "failed");
  assert.match(client.status.message, /blocked/);
});

test("a start from what is kept that hangs is ended, and a plain one answers the requests", async () => {
  const { client, workers } = made();
  client.keptStartMs = 1;
  const answer = client.ask("a", {});
  workers[0].say({ event: "stage", stage: "kept", progress: 0.3 });
  while (workers.length < 2) await new Promise((done) => setTimeout(done, 1));
  assert.ok(workers[0].ended);
  assert.deepEqual([workers[0].plain, workers[1].plain], [false, true]);
  workers[1].ready();
  workers[1].reply(0, { ok: true });
  assert.deepEqual(await answer, { ok: true });
});
