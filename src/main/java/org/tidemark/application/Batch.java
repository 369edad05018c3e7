package org.tidemark.application;

import java.util.Optional;
import java.util.OptionalLong;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.EntityTags;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;

/** Carries out the entries of a batch one by one, each in its own transaction. */
final class Batch {
  private final Records records;

  Batch(Records records) {
    this.records = records;
  }

  Bundle run(Bundle bundle) {
    Bundle answer = new Bundle().setType(Bundle.BundleType.BATCHRESPONSE);
    for (int i = 0; i < bundle.getEntry().size(); i++) {
      answer.addEntry(answer(i, bundle.getEntry().get(i)));
    }
    return answer;
  }

  private BundleEntryComponent answer(int index, BundleEntryComponent entry) {
    String method = String.valueOf(entry.getRequest().getMethod());
    String url = String.valueOf(entry.getRequest().getUrl());
    Visit.entry(method, url);
    try {
      return carryOut(entry);
    } catch (Problem problem) {
      Visit.failed(method, url, problem.status());
      return failed(problem.status(), Outcomes.of(problem.inEntry(index)));
    } catch (RuntimeException fault) {
      Optional<Problem> outage = Faults.outage(fault);
      Visit.failed(method, url, outage.map(Problem::status).orElse(500));
      if (outage.isPresent()) {
        return failed(outage.get().status(), Outcomes.of(outage.get().inEntry(index)));
      }
      return failed(500, Outcomes.fault(Faults.log(fault)));
    }
  }

  private BundleEntryComponent carryOut(BundleEntryComponent entry) {
    EntryUrl url = EntryUrl.read(entry.getRequest().getUrl(), records.references().base());
    Bundle.HTTPVerb method = entry.getRequest().getMethod();
    return switch (method) {
      case GET -> {
        Types.requireServed(url.type());
        yield Entries.read(records, url);
      }
      case POST -> Entries.written(post(entry, url), records);
      case PUT -> Entries.written(put(entry, url), records);
      case PATCH -> {
        Types.requireWritten(url.type());
        yield Entries.written(
            records.patch(
                url.address(),
                ifMatch(entry),
                before -> records.patches().any(before, Types.requirePatch(entry.getResource()))),
            records);
      }
      case DELETE -> {
        Types.requireWritten(url.type());
        records.delete(url.address(), ifMatch(entry));
        yield Entries.deleted();
      }
      default ->
          throw Problem.of(
              Problem.Kind.UNSUPPORTED, "The method " + method + " is not offered in a Bundle.");
    };
  }

  private Written post(BundleEntryComponent entry, EntryUrl url) {
    Resource resource = Types.require(entry.getResource(), url);
    if (!entry.getRequest().hasIfNoneExist()) {
      return new Written(records.create(resource), true);
    }
    return records.createIfNone(
        resource,
        Condition.read(entry.getRequest().getIfNoneExist(), "Bundle.entry.request.ifNoneExist"));
  }

  private Written put(BundleEntryComponent entry, EntryUrl url) {
    Resource resource = Types.require(entry.getResource(), url);
    Address address = url.address();
    if (address.condition().isPresent()) {
      return records.updateMatching(resource, address.condition().get(), ifMatch(entry));
    }
    Types.requireId(resource, url.id());
    return records.update(resource, ifMatch(entry));
  }

  private static OptionalLong ifMatch(BundleEntryComponent entry) {
    return EntityTags.version(entry.getRequest().getIfMatch());
  }

  private static BundleEntryComponent failed(int status, OperationOutcome outcome) {
    BundleEntryComponent entry = new BundleEntryComponent();
    entry.getResponse().setStatus(Integer.toString(status)).setOutcome(outcome);
    return entry;
  }
}
