// Signs in on the pages in a browser, as a clinician does, and looks at what is shown who is not let
// in. Prints a line for each thing that holds, and ends with a failure at the first that does not.
//   node signin.mjs BASE FOLDER PLAN ISSUER
// PLAN is the id of a plan, ISSUER the address of the issuer of the tests, which signs everybody in.
import assert from 'node:assert/strict';
import { accessible, base, browser, close, done, holds, open, photographed } from './browser.mjs';

const [plan, issuer] = process.argv.slice(4);
const page = `/plan/${plan}`;

/** What the issuer does from now on; see IssuerServer. */
async function issuerDoes(as) {
  const answer = await fetch(`${issuer}/usual?as=${encodeURIComponent(JSON.stringify(as))}`);
  assert.equal(answer.status, 200);
}

async function writeNote(on, text) {
  await on.locator('#note-author').fill('A. Wren');
  await on.locator('#note-text').fill(text);
  return on.locator('form[data-act="note"] button').click();
}

try {
  await holds('who opens a plan signs in, works on it, and signs out', async () => {
    const at = await open(page);
    assert.equal(at.url(), base + page);
    await done(at, () => writeNote(at, 'Signed in; the knee is quiet.'));
    assert.ok((await at.locator('#notes').innerText()).includes('the knee is quiet'));
    await at.locator('form.account button').click();
    await at.waitForURL(`${base}/signin/left`);
    assert.deepEqual(await at.context().cookies(base), []);
    await at.locator('main a').click();
    await at.waitForURL(`${base}/`);
    await close(at);
  });

  await holds('where the sign-in has ended the page says so, and leads to the next', async () => {
    await issuerDoes({ seconds: 4 });
    const at = await open(page);
    await new Promise((later) => setTimeout(later, 4500));
    await issuerDoes({});
    await writeNote(at, 'Too late.');
    const fault = at.locator('form[data-act="note"] .fault');
    await fault.filter({ hasText: /\S/ }).waitFor();
    await Promise.all([at.waitForEvent('load'), fault.locator('button').click()]);
    assert.equal(at.url(), base + page);
    assert.ok(!(await at.locator('#notes').innerText()).includes('Too late.'));
    await done(at, () => writeNote(at, 'In time.'));
    await close(at);
  });

  const shown = {
    caseload: [{}, '/'],
    plan: [{}, page],
    left: [{}, '/signin/left'],
    state: [{}, '/signin/callback?state=x&code=y'],
    rights: [{ access: { scope: 'openid user/CarePlan.rs' } }, '/'],
    'no-clinician': [{ access: { fhirUser: null } }, '/'],
    unreachable: [{ status: 500 }, '/'],
  };
  for (const locale of ['en-GB', 'de-DE']) {
    for (const [name, [as, path]] of Object.entries(shown)) {
      await issuerDoes(as);
      await holds(`${name} is accessible and fits its window, ${locale}`, async () => {
        await accessible(path, { locale });
        await photographed(`signin-${name}-${locale.slice(0, 2)}`, path, { locale });
      });
    }
  }
} finally {
  await issuerDoes({});
  await browser.close();
}
