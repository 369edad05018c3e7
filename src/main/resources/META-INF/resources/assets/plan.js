// What a clinician does on the page of a plan. Every act is a request to the FHIR endpoint, with the
// version that the page shows, so that nothing is done to a plan that has changed since.
'use strict';

(() => {
  const page = document.body;
  const words = page.dataset;
  const base = words.fhir;
  const DONE = 'tidemark.done';
  const AUTHOR = 'tidemark.author';
  const JSON_PATCH = 'application/json-patch+json';

  /** A refusal, in words that are shown; `anew` names the button where the page must be loaded anew. */
  class Refused extends Error {
    constructor(message, anew = '') {
      super(message);
      this.anew = anew;
    }
  }

  async function request(path, options) {
    let answer;
    try {
      answer = await fetch(`${base}/${path}`, options);
    } catch (unreachable) {
      throw new Refused(words.unreachable);
    }
    if (!answer.ok) {
      throw await refusal(answer);
    }
    return answer;
  }

  async function refusal(answer) {
    if (answer.status === 412 || answer.status === 409) {
      return new Refused(words.changed, words.reload);
    }
    if (answer.status === 401) {
      return new Refused(words.ended, words.signin);
    }
    let issues = [];
    try {
      issues = (await answer.json()).issue;
    } catch (notJson) {
      issues = [{ diagnostics: `${answer.status} ${answer.statusText}` }];
    }
    const said = issues.map((issue) => issue.details?.text ?? issue.diagnostics ?? issue.code);
    return new Refused([words.refused, ...said].join('\n'));
  }

  function patch(path, version, operations) {
    return request(path, {
      method: 'PATCH',
      headers: {
        'Content-Type': JSON_PATCH,
        Accept: 'application/fhir+json',
        'If-Match': `W/"${version}"`,
      },
      body: JSON.stringify(operations),
    });
  }

  function answerTask(form, status, more = []) {
    const operations = [{ op: 'replace', path: '/status', value: status }, ...more];
    return patch(`Task/${form.dataset.task}`, form.dataset.version, operations);
  }

  function patchPlan(operations) {
    return patch(`CarePlan/${words.plan}`, words.version, operations);
  }

  function setStatus(status) {
    return patchPlan([{ op: 'replace', path: '/status', value: status }]);
  }

  /** What a form changes in a prescription, as operations on it. */
  function changes(form, order) {
    const operations = [];
    const replace = (path, before, value) => {
      if (before !== value) {
        operations.push({ op: 'replace', path, value });
      }
    };
    (order.extension ?? []).forEach((extension, at) => {
      const kind = extension.url.slice(extension.url.lastIndexOf('/') + 1);
      const parts = extension.extension ?? [];
      const variable = parts.find((part) => part.url === 'variable')?.valueCode;
      parts.forEach((part, within) => {
        const name =
          kind === 'setting' && part.url === 'value' ? `setting.${variable}`
            : kind === 'dose' ? `dose.${part.url}` : '';
        const input = name && form.elements.namedItem(name);
        if (!input) {
          return;
        }
        const path = `/extension/${at}/extension/${within}`;
        if (part.valueQuantity) {
          replace(`${path}/valueQuantity/value`, part.valueQuantity.value, Number(input.value));
        } else if (part.valueCode) {
          replace(`${path}/valueCode`, part.valueCode, input.value);
        } else {
          replace(`${path}/valuePositiveInt`, part.valuePositiveInt, Number(input.value));
        }
      });
    });
    const times = form.elements.namedItem('times');
    if (times.value !== times.defaultValue) {
      const weekly = Number(times.value);
      const daily = weekly % 7 === 0;
      operations.push({
        op: 'replace',
        path: '/occurrenceTiming/repeat',
        value: {
          frequency: daily ? weekly / 7 : weekly,
          period: 1,
          periodUnit: daily ? 'd' : 'wk',
        },
      });
    }
    return operations;
  }

  async function setByHand(form) {
    const path = `ServiceRequest/${form.dataset.order}`;
    const read = await request(path, { headers: { Accept: 'application/fhir+json' } });
    const order = await read.json();
    if (order.meta.versionId !== form.dataset.version) {
      throw new Refused(words.changed, words.reload);
    }
    const operations = changes(form, order);
    if (operations.length === 0) {
      throw new Refused(words.unchanged);
    }
    await patch(path, form.dataset.version, [...operations, reasoned(form, order)]);
  }

  /** Why a prescription is set so, as a note on it. */
  function reasoned(form, order) {
    const note = {
      time: new Date().toISOString(),
      text: form.elements.namedItem('reason').value.trim(),
    };
    const author = sessionStorage.getItem(AUTHOR);
    if (author) {
      note.authorString = author;
    }
    return order.note
      ? { op: 'add', path: '/note/-', value: note }
      : { op: 'add', path: '/note', value: [note] };
  }

  function writeNote(form) {
    const note = {
      authorString: form.elements.namedItem('author').value.trim(),
      time: new Date().toISOString(),
      text: form.elements.namedItem('text').value.trim(),
    };
    sessionStorage.setItem(AUTHOR, note.authorString);
    const first = words.notes === '0';
    return patchPlan([
      { op: 'add', path: first ? '/note' : '/note/-', value: first ? [note] : note },
    ]);
  }

  const ACTS = {
    accept: (form) => answerTask(form, 'accepted'),
    reject: (form) =>
      answerTask(form, 'rejected', [
        {
          op: 'add',
          path: '/statusReason',
          value: { text: form.elements.namedItem('reason').value.trim() },
        },
      ]),
    complete: (form) => answerTask(form, 'completed'),
    set: setByHand,
    hold: () => setStatus('on-hold'),
    resume: () => setStatus('active'),
    note: writeNote,
  };

  function show(form, refused) {
    const fault = form.querySelector('.fault');
    fault.textContent = refused.message;
    if (refused.anew) {
      const anew = document.createElement('button');
      anew.type = 'button';
      anew.className = 'second';
      anew.textContent = refused.anew;
      anew.addEventListener('click', () => location.reload());
      fault.append(anew);
    }
    fault.focus();
  }

  async function act(event) {
    event.preventDefault();
    const form = event.currentTarget;
    const buttons = [...document.querySelectorAll('form.act button')];
    form.querySelector('.fault').textContent = '';
    buttons.forEach((button) => (button.disabled = true));
    try {
      await ACTS[form.dataset.act](form);
      sessionStorage.setItem(DONE, words.plan);
      location.reload();
    } catch (error) {
      buttons.forEach((button) => (button.disabled = false));
      if (!(error instanceof Refused)) {
        throw error;
      }
      show(form, error);
    }
  }

  document.querySelectorAll('form.act').forEach((form) => {
    form.hidden = false;
    form.addEventListener('submit', act);
  });
  document.querySelectorAll('.needs-script').forEach((part) => (part.hidden = false));
  const author = document.getElementById('note-author');
  if (author) {
    author.value = sessionStorage.getItem(AUTHOR) ?? '';
  }
  if (sessionStorage.getItem(DONE) === words.plan) {
    sessionStorage.removeItem(DONE);
    const done = document.getElementById('done');
    done.textContent = words.saved;
    done.focus();
  }
})();
