using System.Globalization;
using System.Runtime.InteropServices;
using Hindbeat.Bench.Desk;
using Hindbeat.Bench.Sounds;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Hindbeat.Takes;
using Hindbeat.Units;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Routing;

namespace Hindbeat.Bench.Practice;

/// <summary>What is played over, the clicks of the calibration, and where takes are sent: floats or notes, only with the page's token.</summary>
internal static class PracticeEndpoints
{
    /// <summary>Twenty-two minutes at 48 kHz: longer than any play-along.</summary>
    public const long LargestTake = 256L << 20;

    private const int LowestRate = 8000, HighestRate = 384000, MostNotes = 100_000;

    /// <summary>"start:length:rounds": when the first round begins in the sound, how long one is, how many there are.</summary>
    private const string RoundsHeader = "Hindbeat-Rounds";

    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/practice/clicks", (int rate) => rate is < LowestRate or > HighestRate
            ? Results.BadRequest("That is no sample rate.")
            : new PlainSound(new HeardSound(CalibrationClicks.Make(rate), double.NaN, [])));
        app.MapPost("/practice/delay", (int rate, HttpContext context, IAntiforgery antiforgery) =>
            ReceiveAsync(context, antiforgery, async () => Said(CalibrationClicks.Measure(await FloatsAsync(context, rate), rate))));
        app.MapPost("/practice/kit-delay", (int rate, string told, HttpContext context, IAntiforgery antiforgery) =>
            ReceiveAsync(context, antiforgery, async () => Said(TakeDesk.KitDelayOf(await FloatsAsync(context, rate), rate, NotesIn(told), PracticeWish.DelayOf(context.Request.Query)))));
        app.MapGet("/practice/{study}/sound", (string study, StudyDesk desk, TakeDesk takes, HttpContext context) => Attempt(() =>
        {
            if (desk.Find(study) is not { } found)
                return Results.NotFound();
            PracticeWish wish = PracticeWish.Read(context.Request.Query);
            PlayAlong along = takes.PlayAlong(found, wish.Options);
            context.Response.Headers[RoundsHeader] = string.Create(CultureInfo.InvariantCulture, $"{along.Start.Value:0.######}:{along.Round.Value:0.######}:{wish.Options.Rounds}");
            return new PlainSound(new HeardSound(along.Sound, double.NaN, [.. along.Times.Select(pair => new[] { pair.Sound, pair.Recording })]));
        }));
        app.MapPost("/practice/{study}/take", (string study, int rate, HttpContext context, IAntiforgery antiforgery, StudyDesk desk, TakeDesk takes) =>
            ReceiveAsync(context, antiforgery, async () =>
            {
                if (desk.Find(study) is not { } found)
                    return Results.NotFound();
                PracticeWish wish = PracticeWish.Read(context.Request.Query);
                float[] samples = await FloatsAsync(context, rate);
                return Kept(await Task.Run(() => takes.Recorded(found, wish, samples, rate, context.RequestAborted)));
            }));
        app.MapPost("/practice/{study}/notes", (string study, HttpContext context, IAntiforgery antiforgery, StudyDesk desk, TakeDesk takes) =>
            ReceiveAsync(context, antiforgery, async () =>
            {
                if (desk.Find(study) is not { } found)
                    return Results.NotFound();
                PracticeWish wish = PracticeWish.Read(context.Request.Query);
                double[][] notes = await context.Request.ReadFromJsonAsync<double[][]>(context.RequestAborted) ?? [];
                if (notes.Length > MostNotes || !notes.All(IsNote))
                    throw new InputException("That is no row of notes: each has a moment, a key and a velocity.");
                return Kept(await Task.Run(() => takes.Played(found, wish, notes)));
            }));
        app.MapPost("/practice/{study}/file", (string study, string name, HttpContext context, IAntiforgery antiforgery, StudyDesk desk, TakeDesk takes) =>
            ReceiveAsync(context, antiforgery, async () =>
                desk.Find(study) is { } found ? Kept(await takes.BroughtAsync(found, context.Request.Body, name, context.RequestAborted)) : Results.NotFound()));
    }

    /// <summary>"second:key,second:key": what a kit told while its strokes were recorded.</summary>
    private static double[][] NotesIn(string told)
    {
        double[][] notes = [.. told.Split(',', StringSplitOptions.RemoveEmptyEntries).Select(note => note.Split(':')
            .Select(part => double.TryParse(part, NumberStyles.Float, CultureInfo.InvariantCulture, out double number) ? number : double.NaN).Append(1).ToArray())];
        return notes.All(IsNote) ? notes : throw new InputException("That is no row of notes: each has a moment and a key.");
    }

    private static bool IsNote(double[] note) =>
        note is [{ } time, >= 0 and <= 127, >= 1 and <= 127] && Math.Abs(time) < 7200;

    private static IResult Kept(KeptTake take) => Results.Json(new { take.Id });

    private static IResult Said(Latency found) => Results.Json(new
    {
        delay = found.Delay.Milliseconds,
        within = found.Uncertainty.Milliseconds,
        spread = found.Spread.Milliseconds,
        clicks = found.Clicks,
        doubts = found.Doubts.Select(doubt => doubt.Text),
    });

    private static async Task<IResult> ReceiveAsync(HttpContext context, IAntiforgery antiforgery, Func<Task<IResult>> receive)
    {
        if (!await antiforgery.IsRequestValidAsync(context))
            return Results.Text("This page is from before the bench was started anew; load it again.", statusCode: StatusCodes.Status403Forbidden);
        if (context.Request.ContentLength > LargestTake)
            return Results.Text("The take is too long to be kept; play fewer rounds.", statusCode: StatusCodes.Status413PayloadTooLarge);
        if (context.Features.Get<IHttpMaxRequestBodySizeFeature>() is { IsReadOnly: false } limit)
            limit.MaxRequestBodySize = LargestTake + 1;
        try
        {
            return await receive();
        }
        catch (InputException reason)
        {
            return Results.Text(reason.Message, statusCode: StatusCodes.Status422UnprocessableEntity);
        }
        catch (Exception reason) when (reason is OperationCanceledException or BadHttpRequestException or System.Text.Json.JsonException)
        {
            return Results.StatusCode(StatusCodes.Status400BadRequest);
        }
    }

    private static IResult Attempt(Func<IResult> make)
    {
        try
        {
            return make();
        }
        catch (InputException reason)
        {
            return Results.BadRequest(reason.Message);
        }
    }

    /// <summary>The body as samples; what is no number would poison all that is measured from it.</summary>
    private static async Task<float[]> FloatsAsync(HttpContext context, int rate)
    {
        if (rate is < LowestRate or > HighestRate)
            throw new InputException($"{rate} samples a second are no recording's.");
        using var bytes = new MemoryStream((int)Math.Min(context.Request.ContentLength ?? 0, LargestTake));
        await context.Request.Body.CopyToAsync(bytes, context.RequestAborted);
        float[] samples = MemoryMarshal.Cast<byte, float>(bytes.GetBuffer().AsSpan(0, (int)bytes.Length)).ToArray();
        return samples.All(float.IsFinite) ? samples : throw new InputException("The recording holds values that are no numbers.");
    }
}
