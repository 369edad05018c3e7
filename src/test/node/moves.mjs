// A person moves from one clinic to another, by fhir-kit-client: their plan by a handover, what is
// said of them by $everything and $summary; the second clinic tells a subscriber of it, and gives
// all of it as an export. The person is one that sample.mjs has enrolled at the first.
//
//   node moves.mjs http://localhost:8080/fhir http://localhost:8090/fhir some-id

import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { once } from 'node:events';
import { setTimeout as sleep } from 'node:timers/promises';
import { Client } from 'fhir-kit-client';

const [from, to, person] = process.argv.slice(2);
const giver = new Client({ baseUrl: from });
const taker = new Client({ baseUrl: to });
const TENTHS = 600;

const the = (parameters, name) => parameters.parameter.find((one) => one.name === name);

async function until(what, ask) {
  for (let tenth = 0; tenth < TENTHS; tenth += 1) {
    const answer = await ask();
    if (answer) {
      return answer;
    }
    await sleep(100);
  }
  throw new Error(`not within a minute: ${what}`);
}

// What the plan would ask next, in the words for the person.
async function next(client, plan) {
  const answer = await client.operation({
    name: 'next-prescription',
    resourceType: 'CarePlan',
    id: plan,
    method: 'GET',
  });
  return answer.parameter
    .filter(({ resource }) => resource?.resourceType === 'ServiceRequest')
    .map(({ resource }) => resource.patientInstruction);
}

const receive = (document) => taker.operation({ name: 'receive-handover', method: 'POST', input: document });

async function refused(request) {
  const { response } = await request.then(
    () => assert.fail('it was taken'),
    (error) => error,
  );
  assert.equal(response.data.resourceType, 'OperationOutcome');
  return { status: response.status, issue: response.data.issue[0] };
}

// ---- the plan ----

const plans = await giver.search({ resourceType: 'CarePlan', searchParams: { patient: person } });
const plan = plans.entry[0].resource.id;
const expected = await next(giver, plan);

// A document is passed on as it came: JSON that is read and written anew says 10 for 10.0, which R4
// takes for another number, and so does its signature.
const text = await (await fetch(`${from}/CarePlan/${plan}/$handover`)).text();
const document = JSON.parse(text);
assert.equal(document.entry[0].resource.resourceType, 'Composition');
assert.ok(JSON.stringify(document) !== text);
const forged = text.replaceAll('"status":"final"', '"status":"amended"');
for (const spoilt of [forged, document]) {
  assert.notEqual(spoilt, text);
  const { status, issue } = await refused(receive(spoilt));
  assert.equal(status, 422);
  assert.deepEqual(issue.expression, ['Bundle.signature.data']);
}

const receipt = await receive(text);
const there = the(receipt, 'plan').valueReference.reference.split('/')[1];
assert.deepEqual(await next(taker, there), expected);
assert.equal(the(await receive(text), 'changed').valueBoolean, false);
await giver.operation({
  name: 'close-handover',
  resourceType: 'CarePlan',
  id: plan,
  input: {
    resourceType: 'Parameters',
    parameter: [
      the(receipt, 'document'),
      { name: 'successor', valueUri: `${to}/CarePlan/${there}` },
    ],
  },
});
assert.equal((await giver.read({ resourceType: 'CarePlan', id: plan })).status, 'revoked');
console.log(`Moved: ${document.entry.length} records, the same is asked next`);

// ---- what is said of the person ----

const moved = the(receipt, 'person').valueReference.reference;
for (const name of ['everything', 'summary']) {
  const said = await giver.operation({ name, resourceType: 'Patient', id: person, method: 'GET' });
  const answer = await taker.operation({ name: 'receive-records', method: 'POST', input: said });
  assert.equal(the(answer, 'person').valueReference.reference, moved);
  assert.equal(the(answer, 'written').valueInteger, 0, JSON.stringify(answer));
}
console.log('Known: everything that came along is not written again');

// ---- being told ----

const told = [];
const endpoint = createServer(async (request, response) => {
  let body = '';
  for await (const part of request) {
    body += part;
  }
  told.push(JSON.parse(body));
  response.end();
}).listen(0, 'localhost');
await once(endpoint, 'listening');
const subscription = await taker.create({
  resourceType: 'Subscription',
  body: {
    resourceType: 'Subscription',
    meta: { profile: ['http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport-subscription'] },
    status: 'requested',
    reason: 'The record of the second clinic',
    criteria: 'https://tidemark.example/fhir/SubscriptionTopic/plan-changed',
    _criteria: {
      extension: [
        {
          url: 'http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport-filter-criteria',
          valueString: `CarePlan?patient=${moved}`,
        },
      ],
    },
    channel: {
      type: 'rest-hook',
      endpoint: `http://localhost:${endpoint.address().port}/hook`,
      payload: 'application/fhir+json',
      _payload: {
        extension: [
          {
            url: 'http://hl7.org/fhir/uv/subscriptions-backport/StructureDefinition/backport-payload-content',
            valueCode: 'id-only',
          },
        ],
      },
    },
  },
});
const kept = { resourceType: 'Subscription', id: subscription.id };
await until('the handshake', async () => (await taker.read(kept)).status === 'active');
const report = JSON.parse(
  await readFile(new URL('../../../demo-bundles/walk/session.json', import.meta.url), 'utf8'),
);
await taker.create({
  resourceType: 'Observation',
  body: {
    ...report,
    subject: { reference: moved },
    basedOn: undefined,
    effectiveDateTime: '2026-10-25T18:00:00+02:00',
  },
});
const events = () => told.filter((bundle) => the(bundle.entry[0].resource, 'type').valueCode === 'event-notification');
await until('the notification', () => events().length > 0);
const focus = JSON.stringify(events()[0].entry[0].resource);
assert.ok(focus.includes(`CarePlan/${there}`), focus);
const standing = await taker.operation({ name: 'status', ...kept, method: 'GET' });
assert.ok(Number(the(standing.entry[0].resource, 'events-since-subscription-start').valueString) > 0);
endpoint.close();
endpoint.closeAllConnections();
console.log('Told: the plan has changed');

// ---- all of it ----

const group = await taker.create({
  resourceType: 'Group',
  body: { resourceType: 'Group', type: 'person', actual: true, member: [{ entity: { reference: moved } }] },
});
const begun = await taker.request(`Group/${group.id}/$export?_type=Patient,CarePlan`, {
  method: 'GET',
  options: { headers: { Prefer: 'respond-async' } },
});
const { response } = Client.httpFor(begun);
assert.equal(response.status, 202);
const place = response.headers.get('content-location');
const manifest = await until('the export', async () => {
  const answer = await fetch(place);
  return answer.status === 200 ? answer.json() : null;
});
const lines = [];
for (const { url } of manifest.output) {
  lines.push(...(await (await fetch(url)).text()).trim().split('\n').map((line) => JSON.parse(line)));
}
assert.deepEqual(lines.map(({ resourceType, id }) => `${resourceType}/${id}`).sort(), [`CarePlan/${there}`, moved].sort());
console.log(`Exported: ${lines.length} records`);
