package org.tidemark.fhir;

import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.time.ZoneId;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Flag.FlagStatus;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;

/**
 * Flags that limit exercise. A Flag without our limit is somebody else's.
 *
 * <p>An inactive Flag is a lifted limit; it ends with the last day of its period, or, without one,
 * with the day on which it was made inactive. To lift a limit before its last day, its period is
 * shortened. A limit without a first day has always held.
 */
public final class FlagReader {
  private static final String PATH = "Flag";
  private static final LocalDate ALWAYS = LocalDate.EPOCH;
  private static final Set<String> PARTS =
      Set.of("applies-to", "variable", "least", "most", "needs-clearance", "side");

  private final Measures measures;
  private final TimeReader times;

  /**
   * A precaution, and whom it is for.
   *
   * @param fact the precaution, from the start of its first day
   * @param side the side that it limits; empty when it limits both
   */
  public record Limit(Fact.PrecautionSet fact, Optional<Side> side) {}

  /**
   * A reader for one clinic.
   *
   * @param measures the units of the measures that the programmes in use set or reach; a limit on
   *     another measure is read in whichever unit of ours fits
   * @param zone the clinic's time zone
   */
  public FlagReader(Measures measures, ZoneId zone) {
    this.measures = measures;
    this.times = new TimeReader(zone);
  }

  /**
   * Reads a Flag.
   *
   * @param flag as sent
   * @param source where the fact is to say that it was read
   * @param asOf when this version of the Flag was written: an inactive one was lifted then
   * @return the limit; empty when the Flag is none, or was entered in error
   * @throws Problem with every fault and the FHIRPath of its element
   */
  public Optional<Limit> read(Flag flag, FactSource source, OffsetDateTime asOf) {
    Findings findings = new Findings();
    List<ExtensionReader> limits = ExtensionReader.all(flag.getExtension(), Codes.LIMIT, PATH);
    if (limits.isEmpty() || flag.getStatus() == FlagStatus.ENTEREDINERROR) {
      return Optional.empty();
    }
    if (limits.size() > 1) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "A Flag holds one limit: send one Flag for each.",
          limits.get(1).path());
    }
    if (!flag.hasStatus()) {
      findings.refuse(Problem.Kind.MISSING, "The status is needed.", "Flag.status");
    }
    if (!flag.getSubject().hasReference() && !flag.getSubject().hasIdentifier()) {
      findings.refuse(Problem.Kind.MISSING, "The person is needed.", "Flag.subject");
    }
    boolean lifted = flag.getStatus() == FlagStatus.INACTIVE;
    Optional<Limit> limit = limit(flag, limits.get(0), lifted, source, asOf, findings);
    findings.check();
    return limit;
  }

  private Optional<Limit> limit(
      Flag flag,
      ExtensionReader limit,
      boolean lifted,
      FactSource source,
      OffsetDateTime asOf,
      Findings findings) {
    checkParts(limit, findings);
    Precaution.Scope scope =
        findings
            .find(() -> limit.findPart("applies-to").map(FlagReader::scope))
            .orElse(Precaution.Scope.ALL);
    Optional<String> measure =
        findings.find(() -> limit.findPart("variable").map(ExtensionReader::code));
    Optional<Amount> least = findings.find(() -> bound(limit, "least", measure));
    Optional<Amount> most = findings.find(() -> bound(limit, "most", measure));
    checkBounds(limit, measure, least, most, findings);
    boolean needsClearance =
        findings
            .find(
                () ->
                    limit
                        .findPart("needs-clearance")
                        .map(part -> part.value(BooleanType.class, "boolean").booleanValue()))
            .orElse(false);
    Optional<Side> side = findings.find(() -> limit.findPart("side").map(FlagReader::side));

    LocalDate from =
        findings
            .find(() -> times.firstDay(flag.getPeriod().getStartElement(), "Flag.period.start"))
            .orElse(ALWAYS);
    Optional<LocalDate> end =
        findings.find(() -> times.lastDay(flag.getPeriod().getEndElement(), "Flag.period.end"));
    if (end.filter(from::isAfter).isPresent()) {
      findings.refuse(Problem.Kind.BUSINESS_RULE, "A period ends after it starts.", "Flag.period");
    }
    Optional<LocalDate> until =
        end.or(() -> lifted ? Optional.of(times.day(asOf)) : Optional.empty());
    return text(flag, findings)
        .map(
            text ->
                new Precaution(
                    text, scope, measure, least, most, from, until, needsClearance, lifted))
        .map(
            precaution ->
                new Limit(new Fact.PrecautionSet(times.startOf(from), source, precaution), side));
  }

  /** A part that is not known could narrow or widen the limit: it must not be passed over. */
  private static void checkParts(ExtensionReader limit, Findings findings) {
    for (int i = 0; i < limit.extension().getExtension().size(); i++) {
      String url = limit.extension().getExtension().get(i).getUrl();
      if (!PARTS.contains(url)) {
        findings.refuse(
            Problem.Kind.UNSUPPORTED,
            "A limit has no part '" + url + "'.",
            limit.path() + ".extension[" + i + "]");
      }
    }
  }

  private static void checkBounds(
      ExtensionReader limit,
      Optional<String> measure,
      Optional<Amount> least,
      Optional<Amount> most,
      Findings findings) {
    boolean bounded =
        limit.extension().hasExtension("least") || limit.extension().hasExtension("most");
    if (measure.isPresent() && !bounded) {
      findings.refuse(
          Problem.Kind.MISSING,
          "A limit on a measure needs its least or its greatest value.",
          ExtensionReader.pathOf(limit.path(), "most"));
    }
    if (least.isPresent()
        && most.isPresent()
        && least.get().unit() == most.get().unit()
        && least.get().isAbove(most.get())) {
      findings.refuse(
          Problem.Kind.BUSINESS_RULE,
          "The least value allowed is above the greatest.",
          ExtensionReader.pathOf(limit.path(), "least"));
    }
  }

  private Optional<Amount> bound(ExtensionReader limit, String part, Optional<String> measure) {
    Optional<ExtensionReader> bound = limit.findPart(part);
    if (bound.isEmpty()) {
      return Optional.empty();
    }
    if (measure.isEmpty()) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "A limit on a value needs the variable that it limits.",
          ExtensionReader.pathOf(limit.path(), "variable"));
    }
    String path = bound.get().valuePath();
    Optional<Amount> amount = measures.find(measure.get(), bound.get().quantity(), path);
    if (amount.isEmpty()) {
      throw Problem.of(Problem.Kind.MISSING, "A value is needed.", path + ".value");
    }
    return amount;
  }

  private static Precaution.Scope scope(ExtensionReader part) {
    String code = part.code();
    return Arrays.stream(Precaution.Scope.values())
        .filter(scope -> scope.name().toLowerCase(Locale.ROOT).equals(code))
        .findFirst()
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.UNSUPPORTED,
                    "A limit applies to loaded, unloaded or all exercises, not to '" + code + "'.",
                    part.valuePath()));
  }

  private static Side side(ExtensionReader part) {
    String code = part.code();
    return Sides.find(code)
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.UNSUPPORTED,
                    "The side is left or right, not '" + code + "'.",
                    part.valuePath()));
  }

  private static Optional<String> text(Flag flag, Findings findings) {
    Optional<String> text =
        Optional.ofNullable(flag.getCode().getText())
            .or(
                () ->
                    flag.getCode().getCoding().stream()
                        .map(Coding::getDisplay)
                        .filter(display -> display != null)
                        .findFirst());
    if (text.isEmpty()) {
      findings.refuse(
          Problem.Kind.MISSING, "What the limit says is needed in words.", "Flag.code.text");
    }
    return text;
  }
}
