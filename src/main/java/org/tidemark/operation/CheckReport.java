package org.tidemark.operation;

import java.util.concurrent.atomic.AtomicInteger;
import java.util.stream.Collectors;
import org.tidemark.application.ConsistencyCheck;
import org.tidemark.application.Finding;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinics;

/** What a check has found, for whoever asked for it. */
final class CheckReport {
  private CheckReport() {}

  /** Checks every clinic that is served, one after the other. */
  static Errand.Told ofAll(Clinics clinics, ConsistencyCheck check) {
    StringBuilder text = new StringBuilder();
    AtomicInteger code = new AtomicInteger();
    clinics.each(
        () -> {
          Errand.Told one = of(check.whole());
          text.append(clinics.all().size() > 1 ? "Clinic " + ActingClinic.current() + "\n" : "");
          text.append(one.text());
          code.accumulateAndGet(one.code(), Math::max);
        });
    return new Errand.Told(code.get(), text.toString());
  }

  private static Errand.Told of(ConsistencyCheck.Result result) {
    String looked = "Looked at %d records and %d plans".formatted(result.records(), result.plans());
    return result.findings().isEmpty()
        ? new Errand.Told(0, looked + ": all is whole.\n")
        : new Errand.Told(
            1,
            result.findings().stream()
                .map(CheckReport::line)
                .collect(
                    Collectors.joining(
                        "\n",
                        "",
                        "\n%s: %d findings.\n".formatted(looked, result.findings().size()))));
  }

  private static String line(Finding finding) {
    return "%-15s %s  %s"
        .formatted(finding.kind().code(), finding.where(), finding.kind().sentence());
  }
}
