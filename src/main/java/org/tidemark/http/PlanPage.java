package org.tidemark.http;

import io.quarkus.qute.Template;
import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.time.LocalDate;
import java.util.Collections;
import java.util.Comparator;
import java.util.Date;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Annotation;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestIntent;
import org.tidemark.application.Languages;
import org.tidemark.application.PlanDesk;
import org.tidemark.application.PlanDesk.Desk;
import org.tidemark.application.PlanViews;
import org.tidemark.audit.Visit;
import org.tidemark.clinic.Clinics;

/**
 * The page {@code /plan/[id of the CarePlan]} for the clinician: what needs an answer, what is
 * prescribed with a picture of how the person stands, and why. The page itself only shows; what is
 * done on it is sent to the FHIR endpoint by its script, as any client would.
 */
@WebServlet(name = "plan", urlPatterns = "/plan/*")
public class PlanPage extends HttpServlet {
  private static final long serialVersionUID = 1L;

  private static final Set<CarePlanStatus> OPEN =
      Set.of(CarePlanStatus.ACTIVE, CarePlanStatus.DRAFT, CarePlanStatus.ONHOLD);

  @Inject transient Template plan;
  @Inject transient PlanViews views;
  @Inject transient PlanDesk desk;
  @Inject transient Languages languages;

  @Inject transient Clinics clinics;

  /** An exercise as the page shows it. */
  record Shown(
      String id,
      String version,
      boolean proposed,
      boolean held,
      String picture,
      PlanDesk.Order order,
      List<Noted> notes) {}

  /** Something that waits for an answer, as the page shows it. */
  record Asked(
      String kind,
      String title,
      String task,
      String version,
      String since,
      String overdue,
      String description,
      String language,
      String hint) {}

  /** A note as the page shows it. */
  record Noted(String author, String day, String text) {}

  @Override
  protected void doGet(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    String path = request.getPathInfo();
    String id = path == null ? "" : path.substring(1);
    Locale locale = languages.firstOf(Collections.list(request.getLocales()));
    PageText text = new PageText(locale);
    Optional<PlanViews.View> view = views.find(id, locale);
    Optional<Desk> found = view.flatMap(seen -> desk.find(id, locale));
    view.ifPresent(seen -> Visit.about(seen.plan().getSubject().getReference()));
    Pages.prepare(response);
    if (found.isEmpty()) {
      response.setStatus(HttpServletResponse.SC_NOT_FOUND);
      response
          .getWriter()
          .write(
              plan.data("t", text).data("user", Pages.user(request)).data("plan", null).render());
      return;
    }
    String progress = views.progress(id, locale).orElse("");
    String html = page(view.get(), found.get(), progress, text, Pages.user(request));
    response.getWriter().write(html);
  }

  private String page(PlanViews.View view, Desk desk, String progress, PageText text, String user) {
    CarePlan record = view.plan();
    boolean open = OPEN.contains(record.getStatus());
    List<Shown> exercises =
        view.exercises().stream().map(exercise -> shown(exercise, desk, text)).toList();
    return plan.data("t", text)
        .data("user", user)
        .data("plan", record)
        .data("id", record.getIdElement().getIdPart())
        .data("version", record.getMeta().getVersionId())
        .data("person", desk.person())
        .data("about", desk.title())
        .data("status", text.of("status." + record.getStatus().toCode()))
        .data("open", open)
        .data("held", record.getStatus() == CarePlanStatus.ONHOLD)
        .data("asks", desk.asks().stream().map(ask -> asked(ask, text)).toList())
        .data("standing", exercises.stream().filter(exercise -> !exercise.proposed()).toList())
        .data("proposals", exercises.stream().filter(Shown::proposed).toList())
        .data("progress", progress)
        .data("narrative", record.getText().getDivAsString())
        .data("language", language(record))
        .data("notes", notes(record.getNote(), text))
        .data("noted", record.getNote().size())
        .render();
  }

  private Shown shown(PlanViews.Exercise exercise, Desk desk, PageText text) {
    ServiceRequest order = exercise.order();
    String id = order.getIdElement().getIdPart();
    return new Shown(
        id,
        order.getMeta().getVersionId(),
        order.getIntent() == ServiceRequestIntent.PROPOSAL,
        order.getStatus() == ServiceRequest.ServiceRequestStatus.ONHOLD,
        exercise.picture().orElse(""),
        desk.orders().get(id),
        notes(order.getNote(), text));
  }

  /** The language that the words of a record are in; empty when it does not say. */
  private static String language(DomainResource record) {
    String said = record.getText().getDiv().getAttribute("lang");
    return said == null ? "" : said;
  }

  private Asked asked(PlanDesk.Ask ask, PageText text) {
    return new Asked(
        ask.kind(),
        text.of("ask." + ask.kind()),
        ask.task().getIdElement().getIdPart(),
        ask.task().getMeta().getVersionId(),
        text.of("since", text.day(local(ask.task().getAuthoredOn()))),
        ask.overdue() ? text.of("overdue") : "",
        ask.task().getDescription(),
        language(ask.task()),
        text.of("hint." + ask.kind()));
  }

  private LocalDate local(Date date) {
    return date.toInstant().atZone(clinics.acting().zone()).toLocalDate();
  }

  private List<Noted> notes(List<Annotation> notes, PageText text) {
    return notes.stream()
        .sorted(
            Comparator.comparing(
                Annotation::getTime, Comparator.nullsLast(Comparator.reverseOrder())))
        .map(
            note ->
                new Noted(
                    author(note),
                    note.hasTime() ? text.day(local(note.getTime())) : "",
                    note.getText()))
        .toList();
  }

  private static String author(Annotation note) {
    if (note.getAuthor() instanceof Reference reference) {
      return reference.hasDisplay() ? reference.getDisplay() : reference.getReference();
    }
    return note.hasAuthor() ? note.getAuthor().primitiveValue() : "";
  }
}
