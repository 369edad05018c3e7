package org.tidemark.http;

import io.quarkus.qute.Template;
import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestIntent;
import org.tidemark.application.PlanViews;

/**
 * The page {@code /plan/[id of the CarePlan]} for the clinician: what is prescribed, with a picture
 * of how the person stands, and why. It only shows; whatever is done goes through FHIR.
 */
@WebServlet(name = "plan", urlPatterns = "/plan/*")
public class PlanPage extends HttpServlet {
  private static final long serialVersionUID = 1L;

  @Inject transient Template plan;
  @Inject transient PlanViews views;

  /** An exercise as the page shows it; what stands is in the words of the plan already. */
  record Shown(String title, boolean proposed, String text, String picture) {}

  @Override
  protected void doGet(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    String path = request.getPathInfo();
    String id = path == null ? "" : path.substring(1);
    Optional<PlanViews.View> view = views.find(id, request.getLocale());
    response.setContentType("text/html;charset=UTF-8");
    response.setHeader("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'");
    response.setHeader("Cache-Control", "no-store");
    if (view.isEmpty()) {
      response.setStatus(HttpServletResponse.SC_NOT_FOUND);
    }
    List<Shown> exercises =
        view.stream().flatMap(found -> found.exercises().stream()).map(PlanPage::shown).toList();
    response
        .getWriter()
        .write(
            plan.data("plan", view.map(PlanViews.View::plan).orElse(null))
                .data("text", view.map(found -> found.plan().getText().getDivAsString()).orElse(""))
                .data("exercises", exercises)
                .render());
  }

  private static Shown shown(PlanViews.Exercise exercise) {
    ServiceRequest order = exercise.order();
    return new Shown(
        order.getCode().getText(),
        order.getIntent() == ServiceRequestIntent.PROPOSAL,
        order.getText().getDivAsString(),
        exercise.picture().orElse(""));
  }
}
