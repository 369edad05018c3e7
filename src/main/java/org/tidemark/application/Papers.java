package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.qute.Location;
import io.quarkus.qute.Template;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.OptionalLong;
import org.hl7.fhir.r4.model.Address;
import org.hl7.fhir.r4.model.ContactPoint;
import org.hl7.fhir.r4.model.HumanName;
import org.hl7.fhir.r4.model.Organization;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.fhir.Problem;
import org.tidemark.report.Handout;
import org.tidemark.report.PaperPlan;
import org.tidemark.report.Pdf;
import org.tidemark.report.ProgressReport;
import org.tidemark.report.ProgressReport.Room;

/**
 * The papers about a plan: the handout for the person and the progress report for a referrer, as a
 * page or as a PDF. What they say is read in one transaction; they are written outside it.
 */
@ApplicationScoped
public class Papers {
  private final Records records;
  private final PlanBook book;
  private final Languages languages;
  private final ClinicClock clock;
  private final Guard guard;
  private final Template handout;
  private final Template report;

  Papers(
      Records records,
      PlanBook book,
      Languages languages,
      ClinicClock clock,
      Guard guard,
      Template handout,
      @Location("progress-report") Template report) {
    this.guard = guard;
    this.records = records;
    this.book = book;
    this.languages = languages;
    this.clock = clock;
    this.handout = handout;
    this.report = report;
  }

  /** The size of the page. */
  public enum Size {
    A4("210mm 297mm"),
    LETTER("8.5in 11in");

    /** Width and height, as in the CSS property {@code size}. */
    private final String css;

    Size(String css) {
      this.css = css;
    }

    /** {@code A4} or {@code letter}, in any case. */
    public static Optional<Size> find(String name) {
      return Arrays.stream(values()).filter(size -> size.name().equalsIgnoreCase(name)).findFirst();
    }
  }

  /** Which paper. */
  public enum Kind {
    HANDOUT,
    PROGRESS_REPORT;

    /** Its name, such as {@code progress-report}. */
    public String code() {
      return name().toLowerCase(Locale.ROOT).replace('_', '-');
    }
  }

  /**
   * A paper as a page, which is well-formed XML too.
   *
   * @param kind which
   * @param planId the id of the CarePlan
   * @param locale the language: English or German, English for any other
   * @param size the paper it is printed on
   * @throws Problem when there is no such plan, or the service does not run it
   */
  public String page(Kind kind, String planId, Locale locale, Size size) {
    return page(kind, read(planId, locale), locale, size);
  }

  /**
   * A paper as a PDF; a report tells as much as one page has room for.
   *
   * @param kind which
   * @param planId the id of the CarePlan
   * @param locale the language: English or German, English for any other
   * @param size the paper it is printed on
   * @throws Problem when there is no such plan, or the service does not run it
   */
  public byte[] pdf(Kind kind, String planId, Locale locale, Size size) {
    PaperPlan plan = read(planId, locale);
    if (kind == Kind.HANDOUT) {
      return Pdf.of(page(Handout.of(plan, locale), size)).bytes();
    }
    Pdf written = null;
    for (Room room : Room.values()) {
      written = Pdf.of(page(ProgressReport.of(plan, locale, room), size));
      if (written.pages() == 1) {
        break;
      }
    }
    return written.bytes();
  }

  private String page(Kind kind, PaperPlan plan, Locale locale, Size size) {
    return kind == Kind.HANDOUT
        ? page(Handout.of(plan, locale), size)
        : page(ProgressReport.of(plan, locale, Room.WIDE), size);
  }

  private String page(Handout said, Size size) {
    return handout.data("h", said).data("t", said.words()).data("size", size.css).render();
  }

  private String page(ProgressReport said, Size size) {
    return report.data("r", said).data("t", said.words()).data("size", size.css).render();
  }

  private PaperPlan read(String planId, Locale locale) {
    return QuarkusTransaction.joiningExisting()
        .call(
            () -> {
              records
                  .read("CarePlan", planId, OptionalLong.empty())
                  .orElseThrow(
                      () ->
                          Problem.of(
                              Problem.Kind.NOT_FOUND, "There is no CarePlan/" + planId + "."));
              RunningPlan plan =
                  book.find(planId)
                      .orElseThrow(
                          () ->
                              Problem.of(
                                  Problem.Kind.BUSINESS_RULE,
                                  "This CarePlan follows no programme of this service.",
                                  "CarePlan.instantiatesCanonical"));
              guard.requirePlan(plan.subject());
              return new PaperPlan(
                  languages.in(locale, plan).programme(),
                  plan.side(),
                  plan.status(),
                  book.chronicle(plan),
                  person(plan.subject()),
                  clinic(),
                  clock.now().toLocalDate());
            });
  }

  private PaperPlan.Person person(String subject) {
    Optional<Patient> patient =
        records
            .find(new Reference(subject))
            .filter(Patient.class::isInstance)
            .map(Patient.class::cast);
    return new PaperPlan.Person(patient.flatMap(Papers::name), patient.flatMap(Papers::born));
  }

  private static Optional<String> name(Patient patient) {
    return patient.getName().stream()
        .filter(name -> name.getUse() != HumanName.NameUse.OLD)
        .map(HumanName::getNameAsSingleString)
        .filter(name -> !name.isBlank())
        .findFirst();
  }

  /** A year or a month alone is no day. */
  private static Optional<LocalDate> born(Patient patient) {
    return Optional.ofNullable(patient.getBirthDateElement().getValueAsString())
        .filter(day -> day.length() == "2026-03-02".length())
        .map(LocalDate::parse);
  }

  private PaperPlan.Clinic clinic() {
    Organization clinic =
        records.find(Organization.class, Issuing.ORGANISATION).orElseGet(Organization::new);
    List<String> contact = new ArrayList<>();
    clinic.getTelecom().stream()
        .map(ContactPoint::getValue)
        .filter(value -> value != null && !value.isBlank())
        .forEach(contact::add);
    clinic.getAddress().stream().findFirst().map(Papers::line).ifPresent(contact::add);
    return new PaperPlan.Clinic(Optional.ofNullable(clinic.getName()).orElse(""), contact);
  }

  private static String line(Address address) {
    if (address.hasText()) {
      return address.getText();
    }
    List<String> parts = new ArrayList<>();
    address.getLine().forEach(line -> parts.add(line.getValue()));
    String town =
        String.join(
                " ",
                Optional.ofNullable(address.getPostalCode()).orElse(""),
                Optional.ofNullable(address.getCity()).orElse(""))
            .strip();
    if (!town.isEmpty()) {
      parts.add(town);
    }
    return String.join(", ", parts);
  }
}
