package org.tidemark.http;

import io.quarkus.qute.Template;
import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.List;
import org.tidemark.application.Limits;
import org.tidemark.application.Programmes;
import org.tidemark.fhir.AcceptedItem;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/**
 * The page {@code /guide} for those who connect a system: codes and units that are accepted, how to
 * retry, paging, limits, and every error code. It is made from what the service itself goes by.
 */
@WebServlet(name = "guide", urlPatterns = "/guide")
public class GuidePage extends HttpServlet {
  private static final long serialVersionUID = 1L;

  @Inject transient Template guide;
  @Inject transient Programmes programmes;
  @Inject transient References references;

  @Inject transient Limits limits;

  @Override
  protected void doGet(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    response.setContentType("text/html;charset=UTF-8");
    response.setHeader("Content-Security-Policy", Pages.OF_A_PAPER);
    response
        .getWriter()
        .write(
            guide
                .data("base", references.base())
                .data("items", AcceptedItem.all())
                .data("readings", programmes.readings().entries())
                .data("problems", List.of(Problem.Kind.values()))
                .data("limits", limits)
                .data("bodyMebibytes", limits.bodyBytes() / (1024 * 1024))
                .render());
  }
}
