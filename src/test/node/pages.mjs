// Drives the pages in a browser as a clinician does. Prints a line for each thing that holds, and
// ends with a failure at the first that does not.
//   node pages.mjs BASE FOLDER PLANS
// BASE is the address of the service, FOLDER takes the screenshots, PLANS is a JSON object with the
// ids of plans: "waiting" and "refused" wait for a sign-off, "running" does not, "warned" has a
// warning sign.
import assert from 'node:assert/strict';
import { accessible, base, browser, close, done, holds, open, photographed } from './browser.mjs';

const plans = JSON.parse(process.argv[4]);

async function fhir(path) {
  const answer = await fetch(`${base}/fhir/${path}`, {
    headers: { Accept: 'application/fhir+json' },
  });
  assert.equal(answer.status, 200, path);
  return answer.json();
}

try {
  await holds('from the caseload to a person, and a sign-off changes the plan', async () => {
    const before = await fhir(`CarePlan/${plans.waiting}`);
    const page = await open('/?need=sign-off');
    await page.locator(`[data-plan="${plans.waiting}"] a`).click();
    await page.waitForURL(`**/plan/${plans.waiting}`);
    await done(page, () => page.locator('form[data-act="accept"] button').click());
    assert.equal(await page.locator('form[data-act="accept"]').count(), 0);
    const after = await fhir(`CarePlan/${plans.waiting}`);
    assert.notEqual(after.meta.versionId, before.meta.versionId);
    assert.notEqual(after.text.div, before.text.div);
    const orders = after.activity.map((activity) => activity.reference.reference);
    assert.notDeepEqual(orders, before.activity.map((activity) => activity.reference.reference));
    const shown = await page.locator('#prescribed').innerText();
    for (const reference of orders) {
      const order = await fhir(reference);
      assert.equal(order.intent, 'order');
      assert.ok(shown.includes(order.code.text), order.code.text);
    }
    await close(page);
    const list = await open('/?need=sign-off');
    assert.equal(await list.locator(`[data-plan="${plans.waiting}"]`).count(), 0);
    await close(list);
  });

  await holds('a proposal is sent back with a reason, by keyboard alone', async () => {
    const page = await open(`/plan/${plans.refused}`);
    const form = page.locator('form[data-act="reject"]');
    await form.locator('textarea').focus();
    await page.keyboard.type('Not before the holiday.');
    await page.keyboard.press('Tab');
    await done(page, () => page.keyboard.press('Enter'));
    const tasks = await fhir(`Task?focus:missing=false&status=rejected&_count=50`);
    const reasons = JSON.stringify(tasks.entry ?? []);
    assert.ok(reasons.includes('Not before the holiday.'), reasons);
    await close(page);
  });

  await holds('a setting by hand is written, and one that cannot be is told beside the form', async () => {
    const page = await open(`/plan/${plans.running}`);
    const form = page.locator('form[data-act="set"]').first();
    await form.locator('summary').click();
    const sets = form.locator('[name="dose.sets"]');
    const before = Number(await sets.inputValue());
    await sets.fill(String(before + 1));
    await form.locator('[name="reason"]').fill('One set more was easy on Monday.');
    await done(page, () => form.locator('button[type="submit"]').click());
    const plan = await fhir(`CarePlan/${plans.running}`);
    const dose = await Promise.all(plan.activity.map((activity) => fhir(activity.reference.reference)));
    assert.ok(JSON.stringify(dose).includes(`"valuePositiveInt":${before + 1}`));
    assert.ok((await page.locator('#prescribed').innerText()).includes('easy on Monday'));
    const again = page.locator('form[data-act="set"]').first();
    await again.locator('summary').click();
    const setting = again.locator('input[name^="setting."]').first();
    await setting.fill('4000');
    await again.locator('[name="reason"]').fill('Too far.');
    await again.locator('button[type="submit"]').click();
    const fault = again.locator('.fault');
    await fault.filter({ hasText: /\S/ }).waitFor();
    assert.ok(await fault.evaluate((element) => element === document.activeElement));
    await close(page);
  });

  await holds('a plan that has changed meanwhile is not written over', async () => {
    const stale = await open(`/plan/${plans.running}`);
    const other = await open(`/plan/${plans.running}`);
    await other.locator('#note-author').fill('R. Aster');
    await other.locator('#note-text').fill('Rang; the knee is quiet.');
    await done(other, () => other.locator('form[data-act="note"] button').click());
    assert.ok((await other.locator('#notes').innerText()).includes('the knee is quiet'));
    await stale.locator('form[data-act="hold"] button').click();
    await stale.locator('form[data-act="hold"] .fault').filter({ hasText: /\S/ }).waitFor();
    assert.equal((await fhir(`CarePlan/${plans.running}`)).status, 'active');
    await close(stale);
    await done(other, () => other.locator('form[data-act="hold"] button').click());
    assert.equal((await fhir(`CarePlan/${plans.running}`)).status, 'on-hold');
    await done(other, () => other.locator('form[data-act="resume"] button').click());
    assert.equal((await fhir(`CarePlan/${plans.running}`)).status, 'active');
    await close(other);
  });

  await holds('a warning comes first, and is answered', async () => {
    const list = await open('/');
    const first = await list.locator('#cases > li').first().getAttribute('data-need');
    assert.equal(first, 'warning');
    await close(list);
    const page = await open(`/plan/${plans.warned}`);
    await done(page, () => page.locator('form[data-act="complete"] button').first().click());
    await close(page);
  });

  await holds('without script everything can be read, and nothing pretends to act', async () => {
    const page = await open(`/plan/${plans.running}`, { javaScriptEnabled: false });
    const text = await page.locator('main').innerText();
    const plan = await fhir(`CarePlan/${plans.running}`);
    const told = plan.text.div.match(/<h3>([^<]*)<\/h3>/)[1];
    assert.ok(text.includes(told), text);
    assert.equal(await page.locator('form.act button:visible').count(), 0);
    await close(page);
  });

  await holds('the first stop of the keyboard leads past what is on every page', async () => {
    for (const path of ['/', `/plan/${plans.running}`]) {
      const page = await open(path);
      await page.keyboard.press('Tab');
      assert.equal(await page.evaluate(() => document.activeElement.getAttribute('href')), '#main');
      await page.keyboard.press('Enter');
      assert.equal(await page.evaluate(() => document.activeElement.id), 'main');
      await close(page);
    }
  });

  const pages = {
    caseload: '/',
    none: '/plan/nobody',
    handout: `/fhir/CarePlan/${plans.waiting}/$handout`,
    stopped: `/fhir/CarePlan/${plans.warned}/$handout`,
    report: `/fhir/CarePlan/${plans.waiting}/$progress-report`,
  };
  for (const [name, id] of Object.entries(plans)) {
    pages[`plan-${name}`] = `/plan/${id}`;
  }
  for (const locale of ['en-GB', 'de-DE']) {
    for (const [name, path] of Object.entries(pages)) {
      await holds(`${path} is accessible, ${locale}`, () => accessible(path, { locale }));
      await holds(`${path} fits its window and paper, ${locale}`, () =>
        photographed(`${name}-${locale.slice(0, 2)}`, path, { locale }));
    }
  }
} finally {
  await browser.close();
}
