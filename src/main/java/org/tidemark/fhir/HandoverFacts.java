package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.InstantType;
import org.hl7.fhir.r4.model.PositiveIntType;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.StringType;

/**
 * What is handed over beside a record's own elements: what the plan takes from it, as the clinic
 * that received it read it then. Read anew elsewhere it could say something else: in another time
 * zone, by another list of codes, or because a prescription has been set otherwise since.
 */
public final class HandoverFacts {
  /** What a plan takes from a record; once for each thing it takes. */
  public static final String FACT = Codes.structure("plan-fact");

  /** How the plan stands: its programme, and what has been issued for it. */
  public static final String RUNNING = Codes.structure("running-plan");

  private HandoverFacts() {}

  /**
   * One thing that a record says.
   *
   * @param content what, in the service's own form
   * @param arrivedMs when it was taken in, in milliseconds since 1970 UTC
   * @param version the version of the record that it was read from
   */
  public record Said(String content, long arrivedMs, long version) {}

  /**
   * How a plan stands.
   *
   * @param programme address and version of its programme
   * @param issued what has been issued for it, in the service's own form
   */
  public record Running(String programme, String issued) {}

  /** Writes what a plan takes from a record into it. */
  public static void write(DomainResource record, Said said) {
    Extension fact = record.addExtension();
    fact.setUrl(FACT);
    fact.addExtension("content", new StringType(said.content()));
    fact.addExtension("arrived", new InstantType(new Date(said.arrivedMs())));
    fact.addExtension("version", new PositiveIntType(Math.toIntExact(said.version())));
  }

  /** Writes how a plan stands into its CarePlan. */
  public static void write(CarePlan plan, Running running) {
    Extension extension = plan.addExtension();
    extension.setUrl(RUNNING);
    extension.addExtension("programme", new CanonicalType(running.programme()));
    extension.addExtension("issued", new StringType(running.issued()));
  }

  /**
   * Takes out of a record what a plan takes from it, in its order.
   *
   * @throws Problem when a part is missing
   */
  public static List<Said> take(DomainResource record) {
    List<Said> all = new ArrayList<>();
    for (Extension fact : record.getExtensionsByUrl(FACT)) {
      all.add(
          new Said(
              part(record, fact, "content", StringType.class).getValue(),
              part(record, fact, "arrived", InstantType.class).getValue().getTime(),
              part(record, fact, "version", PositiveIntType.class).getValue()));
    }
    record.getExtension().removeIf(extension -> extension.getUrl().equals(FACT));
    return all;
  }

  /**
   * Takes out of a CarePlan how the plan stands.
   *
   * @throws Problem when it does not say so
   */
  public static Running takeRunning(CarePlan plan) {
    Extension running =
        Optional.ofNullable(plan.getExtensionByUrl(RUNNING))
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.MISSING,
                        "The plan does not say how it stands.",
                        "CarePlan.extension('" + RUNNING + "')"));
    plan.getExtension().removeIf(extension -> extension.getUrl().equals(RUNNING));
    return new Running(
        part(plan, running, "programme", CanonicalType.class).getValue(),
        part(plan, running, "issued", StringType.class).getValue());
  }

  private static <T extends PrimitiveType<?>> T part(
      DomainResource record, Extension extension, String name, Class<T> type) {
    return Optional.ofNullable(extension.getExtensionByUrl(name))
        .map(Extension::getValue)
        .filter(type::isInstance)
        .map(type::cast)
        .filter(PrimitiveType::hasValue)
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.MISSING,
                    "'" + name + "' is needed.",
                    record.fhirType() + ".extension('" + extension.getUrl() + "')"));
  }
}
