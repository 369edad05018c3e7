// Drives the pages in a browser as a clinician does. Prints a line for each thing that holds, and
// ends with a failure at the first that does not.
//   node pages.mjs BASE FOLDER PLANS
// BASE is the address of the service, FOLDER takes the screenshots, PLANS is a JSON object with the
// ids of plans: "waiting" and "refused" wait for a sign-off, "running" does not, "warned" has a
// warning sign.
import assert from 'node:assert/strict';
import { existsSync, mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

const [base, folder, plansText] = process.argv.slice(2);
const plans = JSON.parse(plansText);
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const WCAG = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
const WIDTHS = [320, 400, 1280];

const executablePath = process.env.BROWSER_PATH;
assert.ok(existsSync(executablePath), `no browser at ${executablePath}`);
mkdirSync(folder, { recursive: true });
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });

/** A page in a context of its own; whatever its scripts complain of is a failure. */
async function open(path, options = {}) {
  const context = await browser.newContext({ locale: 'en-GB', ...options });
  const page = await context.newPage();
  page.on('pageerror', (error) => assert.fail(`${path}: ${error}`));
  page.on('console', (said) => {
    assert.ok(!/Content Security Policy/.test(said.text()), `${path}: ${said.text()}`);
  });
  await page.goto(base + path);
  return page;
}

async function close(page) {
  await page.context().close();
}

async function holds(what, check) {
  await check();
  console.log(`holds: ${what}`);
}

async function fhir(path) {
  const answer = await fetch(`${base}/fhir/${path}`, {
    headers: { Accept: 'application/fhir+json' },
  });
  assert.equal(answer.status, 200, path);
  return answer.json();
}

/** Waits for the page that an act loads anew, which says what was done. */
async function done(page, act) {
  await Promise.all([page.waitForEvent('load'), act()]);
  await page.waitForFunction(() => document.querySelector('#done').textContent.trim() !== '');
}

async function accessible(path, options) {
  const page = await open(path, { bypassCSP: true, ...options });
  await page.evaluate(axe);
  const found = await page.evaluate(
    (values) => globalThis.axe.run({ runOnly: { type: 'tag', values } }),
    WCAG,
  );
  const violations = found.violations.map(
    (violation) =>
      `${violation.id}: ${violation.help}: ${violation.nodes.map((node) => node.html).join(' | ')}`,
  );
  assert.deepEqual(violations, [], path);
  assert.ok(found.passes.length > 10, `${path}: hardly anything was checked`);
  await close(page);
}

/** What sticks out of the page or of its picture, and which labels of a picture overlap. */
function misplaced() {
  const wrong = [];
  const wide = document.scrollingElement.scrollWidth;
  if (wide > window.innerWidth) {
    wrong.push(`the page is ${wide} wide in a window of ${window.innerWidth}`);
  }
  for (const picture of document.querySelectorAll('svg')) {
    const frame = picture.getBoundingClientRect();
    const labels = [...picture.querySelectorAll('text')]
      .map((text) => ({ words: text.textContent, box: text.getBoundingClientRect() }))
      .filter((label) => label.words.trim() && label.box.width > 0);
    for (const { words, box } of labels) {
      if (box.left < frame.left - 1 || box.right > frame.right + 1
        || box.top < frame.top - 1 || box.bottom > frame.bottom + 1) {
        wrong.push(`"${words}" sticks out of its picture`);
      }
    }
    labels.forEach((one, at) => labels.slice(at + 1).forEach((other) => {
      const across = Math.min(one.box.right, other.box.right)
        - Math.max(one.box.left, other.box.left);
      const down = Math.min(one.box.bottom, other.box.bottom)
        - Math.max(one.box.top, other.box.top);
      if (across > 1 && down > Math.min(one.box.height, other.box.height) / 3) {
        wrong.push(`"${one.words}" lies over "${other.words}"`);
      }
    }));
  }
  return wrong;
}

async function photographed(name, path, options = {}) {
  for (const width of WIDTHS) {
    for (const colorScheme of width === 400 ? ['light', 'dark'] : ['light']) {
      const page = await open(path, {
        viewport: { width, height: 900 }, colorScheme, ...options,
      });
      assert.deepEqual(await page.evaluate(misplaced), [], `${path} at ${width}`);
      await page.screenshot({
        path: join(folder, `${name}-${width}-${colorScheme}.png`), fullPage: true,
      });
      await close(page);
    }
  }
  const page = await open(path, options);
  await page.emulateMedia({ media: 'print' });
  await page.pdf({ path: join(folder, `${name}.pdf`), format: 'A4' });
  await close(page);
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
      await holds(`${path} is accessible, ${locale}`, async () => {
        await accessible(path, { locale });
        await accessible(path, { locale, colorScheme: 'dark', viewport: { width: 400, height: 800 } });
      });
      await holds(`${path} fits its window and paper, ${locale}`, () =>
        photographed(`${name}-${locale.slice(0, 2)}`, path, { locale }));
    }
  }
} finally {
  await browser.close();
}
