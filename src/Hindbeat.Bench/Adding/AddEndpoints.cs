using Hindbeat.Units;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Routing;

namespace Hindbeat.Bench.Adding;

/// <summary>
/// Where the page sends a file: the bytes as they are, the name beside them. Only with a token that this page was given; the token
/// cannot be read by a page of another origin.
/// </summary>
internal static class AddEndpoints
{
    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/add/token", (IAntiforgery antiforgery, HttpContext context) =>
            TypedResults.Text(antiforgery.GetAndStoreTokens(context).RequestToken ?? ""));
        app.MapPost("/add", async (string name, HttpContext context, IAntiforgery antiforgery, Intake intake) =>
        {
            if (!await antiforgery.IsRequestValidAsync(context))
                return Results.Text("This page is from before the bench was started anew; load it again.", statusCode: StatusCodes.Status403Forbidden);
            if (context.Request.ContentLength > Intake.LargestFile)
                return Results.Text($"The file is larger than {Intake.LargestFile >> 20} MB; cut out the passage first.", statusCode: StatusCodes.Status413PayloadTooLarge);
            if (context.Features.Get<IHttpMaxRequestBodySizeFeature>() is { IsReadOnly: false } limit)
                limit.MaxRequestBodySize = Intake.LargestFile + 1;
            try
            {
                await intake.ReceiveAsync(context.Request.Body, name, context.RequestAborted);
                return Results.StatusCode(StatusCodes.Status202Accepted);
            }
            catch (InputException reason)
            {
                return Results.Text(reason.Message, statusCode: StatusCodes.Status422UnprocessableEntity);
            }
            catch (Exception reason) when (reason is OperationCanceledException or BadHttpRequestException)
            {
                // The sender has gone; nobody hears the answer.
                return Results.StatusCode(StatusCodes.Status400BadRequest);
            }
        });
    }
}
