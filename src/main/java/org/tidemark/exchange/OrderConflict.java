package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.tidemark.application.OrderAdvice;
import org.tidemark.application.OrderAdvice.Conflict;
import org.tidemark.application.OrderAdvice.Limits;
import org.tidemark.application.PlanAdvice.Notice;
import org.tidemark.fhir.OrderReader;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.Texts;

/**
 * {@code order-select}: a card for each selected order of exercise that a plan of the person or a
 * precaution speaks against. No card means that nothing is known against it, not that it is safe.
 */
@ApplicationScoped
class OrderConflict implements HookService {
  private final OrderAdvice advice;
  private final CardDesk desk;
  private final References references;

  OrderConflict(OrderAdvice advice, CardDesk desk, References references) {
    this.advice = advice;
    this.desk = desk;
    this.references = references;
  }

  /** An order in draft: where it stands in the call, how it is called there, and what it is. */
  private record Draft(Member member, String reference, ServiceRequest order) {}

  @Override
  public String id() {
    return "order-conflict";
  }

  @Override
  public String hook() {
    return "order-select";
  }

  @Override
  public List<Card> cards(HookCall call, Locale language) {
    List<Draft> drafts =
        selected(call).stream().filter(draft -> OrderReader.ordersExercise(draft.order())).toList();
    if (drafts.isEmpty()) {
      return List.of();
    }
    Set<String> subjects = desk.subjects(call);
    return drafts.stream().flatMap(draft -> cards(draft, subjects, language).stream()).toList();
  }

  /** The selected ServiceRequests; the other orders are not read. */
  private List<Draft> selected(HookCall call) {
    List<Member> entries = entries(call.context().at("draftOrders").object());
    List<Draft> drafts = new ArrayList<>();
    for (Member selection : call.context().at("selections").elements()) {
      String reference = selection.text();
      Member resource =
          entries.stream()
              .filter(entry -> reference.equals(reference(entry)))
              .findFirst()
              .orElseThrow(
                  () ->
                      HookProblem.malformed(
                          selection.path(),
                          "'"
                              + selection.path()
                              + "' names no resource of 'context.draftOrders'."));
      if (resource.at("resourceType").text().equals("ServiceRequest")) {
        ServiceRequest order = desk.resource(resource, ServiceRequest.class);
        requireSubject(order, resource, call.patientId());
        drafts.add(new Draft(resource, reference, order));
      }
    }
    return drafts;
  }

  private static List<Member> entries(Member bundle) {
    Member type = bundle.at("resourceType");
    if (!type.text().equals("Bundle")) {
      throw HookProblem.malformed(type.path(), "'" + type.path() + "' must be Bundle.");
    }
    return bundle.at("entry").elements().stream()
        .map(entry -> entry.object().at("resource").object())
        .toList();
  }

  private static String reference(Member resource) {
    return resource.at("resourceType").text() + "/" + resource.at("id").text();
  }

  private void requireSubject(ServiceRequest order, Member resource, String patientId) {
    String subject = references.normal(order.getSubject().getReference());
    if (References.typeOf(subject).equals("Patient")
        && !References.idOf(subject).equals(patientId)) {
      throw HookProblem.malformed(
          resource.path() + ".subject", "The order is for another person than the call.");
    }
  }

  private List<Card> cards(Draft draft, Set<String> subjects, Locale language) {
    Texts texts = CardDesk.texts(language);
    try {
      return advice.of(draft.order(), subjects, language).stream()
          .map(conflict -> card(draft, conflict, texts))
          .toList();
    } catch (Problem unreadable) {
      throw CardDesk.refused(unreadable.issues().get(0), draft.member());
    }
  }

  private Card card(Draft draft, Conflict conflict, Texts texts) {
    Optional<Notice> stopped = conflict.stopped();
    return stopped.isPresent()
        ? stopped(draft, stopped.get(), texts)
        : limited(draft, conflict, conflict.limits().orElseThrow(), texts);
  }

  private Card stopped(Draft draft, Notice notice, Texts texts) {
    String key = "order." + PlanReview.key(notice.kind());
    Card card =
        desk.card(
            texts,
            PlanReview.indicator(notice.kind()),
            texts.of(key, notice.title()),
            PlanReview.detail(notice, texts),
            Optional.of(notice.plan()));
    return remove(card, draft, texts).overridable(texts);
  }

  private Card limited(Draft draft, Conflict conflict, Limits limits, Texts texts) {
    String key = limits.broken() ? "order.outside" : "order.untold";
    String detail =
        String.join(
            "\n\n",
            "**" + CardText.plain(title(conflict, texts)) + "**",
            texts.of(key + ".limits"),
            CardText.list(limits.words()),
            texts.of(key + ".next"));
    String indicator = limits.broken() ? "critical" : "warning";
    String summary = texts.of(key + ".summary", limits.words().get(0));
    Card card =
        desk.card(texts, indicator, summary, detail, conflict.plan().map(OrderAdvice.Plan::id));
    if (limits.broken()) {
      remove(card, draft, texts);
    }
    limits
        .inside()
        .ifPresent(
            inside ->
                card.suggest(
                    texts.of("inside", inside.variable(), inside.value()),
                    Card.update(texts.of("inside.action"), desk.json(inside.order()))));
    return card.overridable(texts);
  }

  private static String title(Conflict conflict, Texts texts) {
    return conflict.plan().map(OrderAdvice.Plan::title).orElseGet(() -> texts.of("no-plan"));
  }

  private static Card remove(Card card, Draft draft, Texts texts) {
    return card.suggest(
        texts.of("remove"), Card.delete(texts.of("remove.action"), draft.reference()));
  }
}
