// A record system that talks to the service by fhir-kit-client: it enrols an invented person,
// reports sessions until the plan takes a step, and reads the new prescription. The person is that
// of demo-bundles/walk, under an id of the caller's own.
//
//   node sample.mjs http://localhost:8080/fhir some-id

import { readFile } from 'node:fs/promises';
import { Client } from 'fhir-kit-client';

const [baseUrl, person] = process.argv.slice(2);
const client = new Client({ baseUrl });

const REPORTS = 'urn:example:reports';
const PLANS = 'urn:example:plans';
const ENROLLED = Date.UTC(2026, 9, 5);
const DAY = 24 * 60 * 60 * 1000;

async function read(file) {
  const text = await readFile(new URL(`../../../demo-bundles/walk/${file}`, import.meta.url), 'utf8');
  return JSON.parse(text.replaceAll('mara-quill', person));
}

// Without an answer it could be sent again: a record with this identifier is stored once.
async function createOnce(body, system, value) {
  body.identifier = [{ system, value }];
  const stored = await client.create({
    resourceType: body.resourceType,
    body,
    options: { headers: { 'If-None-Exist': `identifier=${system}|${value}` } },
  });
  return { id: stored.id, created: Client.httpFor(stored).response.status === 201 };
}

// Asks where the programme would begin. Nothing is stored.
async function showWhereToStart() {
  const proposal = await client.operation({
    name: 'apply',
    resourceType: 'PlanDefinition',
    id: 'knee-deep-flexion',
    method: 'GET',
    input: { subject: `Patient/${person}`, side: 'right' },
  });
  proposal.contained
    .filter((resource) => resource.resourceType === 'RequestGroup')
    .flatMap((group) => group.action)
    .forEach((action) => console.log(`Would start with: ${action.title}`));
}

// Sends a report twice, as after an answer that got lost: it counts once.
async function report(what, number, day, time) {
  const key = `${person}-${what}-${number}`;
  const date = new Date(ENROLLED + day * DAY).toISOString().slice(0, 10);
  const observation = { ...(await read(`${what}.json`)), effectiveDateTime: `${date}T${time}:00+02:00` };
  const sent = await createOnce(observation, REPORTS, key);
  const again = await createOnce(observation, REPORTS, key);
  const told = ({ created }) => (created ? 'stored' : 'known already');
  const second = sent.id === again.id ? told(again) : 'stored twice';
  console.log(`The ${what} of day ${day}: ${told(sent)}, then ${second}`);
}

// What the plan asks now: its activities refer to the prescriptions in force.
async function prescribed(id) {
  const plan = await client.read({ resourceType: 'CarePlan', id });
  const orders = await Promise.all(
    plan.activity.map(({ reference }) => client.resolve({ reference: reference.reference })),
  );
  return orders.map(asked);
}

// What, how much and how often, and how it is set: the first two lines for the person.
function asked(order) {
  return order.patientInstruction.split('\n').slice(0, 2).join(' ');
}

// Why the newest decision is as it is.
async function reasons() {
  const newest = await client.search({
    resourceType: 'GuidanceResponse',
    searchParams: { patient: person, _sort: '-_lastUpdated', _count: 1 },
  });
  return newest.entry[0].resource.reasonCode.map((reason) => reason.coding[0].display);
}

const tell = (label) => (text) => console.log(`${label}: ${text}`);

// The Patient, what there is at home, and the baseline: all are stored, or none is.
const enrolment = await read('enrol.json');
const [{ resource: plan }] = enrolment.entry.splice(3);
const answer = await client.transaction({ body: enrolment });
console.log(`Sent: ${answer.entry.length} records`);

await showWhereToStart();
delete plan.id;
const enrolled = await createOnce(plan, PLANS, person);

const first = await prescribed(enrolled.id);
first.forEach(tell('Prescribed'));
let now = first;
let day = 0;
while (now.join() === first.join() && day < 14) {
  day += 1;
  await report('session', day, day, '18:00');
  await report('morning', day, day + 1, '07:30');
  now = await prescribed(enrolled.id);
}
console.log(`Sessions reported: ${day}`);
now.forEach(tell('Prescribed'));
(await reasons()).forEach(tell('Because'));
