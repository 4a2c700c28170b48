using Microsoft.AspNetCore.Http;

namespace Hindbeat.Bench.Guard;

/// <summary>
/// Answers 403 to a request that says it comes from a page of another origin. The framework checks
/// hosts but not origins: without this any page open in the same browser could negotiate a connection
/// and open the WebSocket, and drive the bench.
/// </summary>
internal sealed class SameOriginOnly(RequestDelegate next)
{
    public Task InvokeAsync(HttpContext context)
    {
        string own = $"{context.Request.Scheme}://{context.Request.Host.Value}";
        foreach (string? origin in context.Request.Headers.Origin)
        {
            if (!string.Equals(origin, own, StringComparison.OrdinalIgnoreCase))
            {
                context.Response.StatusCode = StatusCodes.Status403Forbidden;
                return Task.CompletedTask;
            }
        }

        if (IsFromElsewhere(context.Request))
        {
            context.Response.StatusCode = StatusCodes.Status403Forbidden;
            return Task.CompletedTask;
        }

        return next(context);
    }

    /// <summary>
    /// Browsers say where a request comes from even when they send no Origin (W3C Fetch Metadata): another page's picture or sound
    /// element must not reach us. Following a link to the bench may.
    /// </summary>
    private static bool IsFromElsewhere(HttpRequest request)
    {
        string? site = request.Headers["Sec-Fetch-Site"];
        bool follows = HttpMethods.IsGet(request.Method) && request.Headers["Sec-Fetch-Mode"] == "navigate" && request.Headers["Sec-Fetch-Dest"] == "document";
        return site is "cross-site" or "same-site" && !follows;
    }
}
