// What the scripts that drive the pages in a browser have in common. BASE is the address of the
// service, FOLDER takes the screenshots.
import assert from 'node:assert/strict';
import { existsSync, mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

export const [base, folder] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const WCAG = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
const WIDTHS = [320, 400, 1280];

const executablePath = process.env.BROWSER_PATH;
assert.ok(existsSync(executablePath), `no browser at ${executablePath}`);
mkdirSync(folder, { recursive: true });
export const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu'] });

/** A page in a context of its own; whatever its scripts complain of is a failure. */
export async function open(path, options = {}) {
  const context = await browser.newContext({ locale: 'en-GB', ...options });
  const page = await context.newPage();
  page.on('pageerror', (error) => assert.fail(`${path}: ${error}`));
  page.on('console', (said) => {
    assert.ok(!/Content Security Policy/.test(said.text()), `${path}: ${said.text()}`);
  });
  await page.goto(base + path);
  return page;
}

export async function close(page) {
  await page.context().close();
}

export async function holds(what, check) {
  await check();
  console.log(`holds: ${what}`);
}

/** Waits for the page that an act loads anew, which says what was done. */
export async function done(page, act) {
  await Promise.all([page.waitForEvent('load'), act()]);
  await page.waitForFunction(() => document.querySelector('#done').textContent.trim() !== '');
}

/** What a page is looked at with besides a wide window and light colours. */
const NARROW_AND_DARK = { viewport: { width: 320, height: 800 }, colorScheme: 'dark' };

async function look(page, { viewport, colorScheme }) {
  await page.setViewportSize(viewport);
  await page.emulateMedia({ colorScheme });
}

async function violations(page) {
  const found = await page.evaluate(
    (values) => globalThis.axe.run({ runOnly: { type: 'tag', values } }),
    WCAG,
  );
  assert.ok(found.passes.length > 5, `${page.url()}: hardly anything was checked`);
  return found.violations.map(
    (violation) =>
      `${violation.id}: ${violation.help}: ${violation.nodes.map((node) => node.html).join(' | ')}`,
  );
}

export async function accessible(path, options) {
  const page = await open(path, { bypassCSP: true, ...options });
  await page.evaluate(axe);
  assert.deepEqual(await violations(page), [], path);
  await look(page, NARROW_AND_DARK);
  assert.deepEqual(await violations(page), [], `${path}, narrow and dark`);
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

export async function photographed(name, path, options = {}) {
  const page = await open(path, options);
  for (const width of WIDTHS) {
    for (const colorScheme of width === 400 ? ['light', 'dark'] : ['light']) {
      await look(page, { viewport: { width, height: 900 }, colorScheme });
      assert.deepEqual(await page.evaluate(misplaced), [], `${path} at ${width}`);
      await page.screenshot({
        path: join(folder, `${name}-${width}-${colorScheme}.png`), fullPage: true,
      });
    }
  }
  await page.emulateMedia({ media: 'print' });
  await page.pdf({ path: join(folder, `${name}.pdf`), format: 'A4' });
  await close(page);
}
